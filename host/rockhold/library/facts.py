"""What the index keeps of a file: what the file says, and what was found of its seals.

Nothing here is trusted because it stands in the index. The signatures of people are checked when a
file is added, so that damage is noticed and no name stands under "sealed by" without its key; whose
key that is, is asked when somebody looks. The board's chain and the result are checked only by a
whole verification, which takes several times as long; `checked_utc` says when one was made.
"""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.errors import RockholdError, SignatureError
from rockhold.evidence import findings as f
from rockhold.evidence.clock import now_utc
from rockhold.evidence.keyfile import TECHNICIAN
from rockhold.evidence.reviews import review_under
from rockhold.evidence.seal import CheckedSeal, check_seal, find_seals
from rockhold.library.names import text_of, vehicle_name, wheel_end_name
from rockhold.library.result_facts import NOTHING, ResultFacts, result_facts

SEALED = "sealed"
UNSEALED = f.UNSEALED
DAMAGED = f.DAMAGED
NOT_REPRODUCED = f.NOT_REPRODUCED
UNREADABLE = f.UNREADABLE
STATES = (SEALED, UNSEALED, NOT_REPRODUCED, DAMAGED, UNREADABLE)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody named in a capture.

    Attributes:
        role: "technician" or "reviewer".
        name: As the capture says.
        key: RFC 7638 thumbprint of the key whose seal fits, "" where the header only names them.
        signed_utc: When the seal says it was made.
    """

    role: str
    name: str
    key: str
    signed_utc: str = ""


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool that a header names."""

    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What one file says, as far as it can be read.

    Attributes:
        path: Absolute.
        size_bytes: Of the file.
        mtime_ns: When it was last written, ns since 1970.
        sha256: Of all its bytes, "" if they cannot be read.
        state: One of STATES.
        problem: What is wrong, in a sentence; "" when nothing was found.
        capture: The capture's id.
        opened_utc: RFC 3339.
        vehicle: The vehicle's number, as written.
        wheel_end: The wheel end, as written.
        board: Name or id of the board.
        procedure: Its name.
        review: The last review, "accept", "reject" or "".
        result: The stored result.
        people: Who is named, and who sealed.
        tools: The tools named.
        checked_utc: When everything was verified; "" if only the seals were looked at.
    """

    path: str
    size_bytes: int = 0
    mtime_ns: int = 0
    sha256: str = ""
    state: str = UNREADABLE
    problem: str = ""
    capture: str = ""
    opened_utc: str = ""
    vehicle: str = ""
    wheel_end: str = ""
    board: str = ""
    procedure: str = ""
    review: str = ""
    result: ResultFacts = NOTHING
    people: tuple[Person, ...] = ()
    tools: tuple[Tool, ...] = ()
    checked_utc: str = ""


def read_facts(path: Path, verify: bool = False) -> Facts:
    """Return what a file says; never raises for a bad file.

    Args:
        path: The file.
        verify: Check the board's signature and compute the result anew, too.
    """
    bare = Facts(str(path.absolute()))
    try:
        stat = path.stat()
        bare = replace(bare, size_bytes=stat.st_size, mtime_ns=stat.st_mtime_ns)
        data = read_bytes(path)
        bare = replace(bare, size_bytes=len(data), sha256=hashlib.sha256(data).hexdigest())
        facts = _of_capture(bare, data, parse_capture(path, data))
    except OSError as error:
        return replace(bare, problem=f"cannot read {path}: {error.strerror}")
    except (RockholdError, MemoryError, RecursionError, OverflowError) as error:
        return replace(bare, problem=str(error) or "too large to read")
    return _verified(facts, path, data) if verify else facts


def facts_of_lost(path: Path, why: str) -> Facts:
    """Return what stands in the index for a file that could not be looked at."""
    return Facts(str(path.absolute()), problem=why)


def _of_capture(bare: Facts, data: bytes, capture: Capture) -> Facts:
    header = capture.header
    board, procedure = header.get("board"), header.get("procedure")
    named = replace(
        bare,
        capture=text_of(header.get("capture", "")),
        opened_utc=text_of(header.get("opened_utc", "")),
        vehicle=vehicle_name(header.get("vehicle")),
        wheel_end=wheel_end_name(header.get("wheel_end")),
        board=text_of(board.get("name") or board.get("id")) if isinstance(board, dict) else "",
        procedure=text_of(procedure.get("name", "")) if isinstance(procedure, dict) else "",
        result=result_facts(capture),
        tools=_tools(header.get("tools")),
    )
    seals, review, problem = _seals(data)
    signed = tuple(Person(seal.role, text_of(seal.by), seal.key, seal.signed_utc) for seal in seals)
    people = signed + tuple(
        person
        for person in _people(header.get("people"))
        if all((person.role, person.name) != (who.role, who.name) for who in signed)
    )
    state = DAMAGED if problem else SEALED if _to_the_end(data, seals) else UNSEALED
    return replace(named, state=state, problem=problem, review=review, people=people)


def _seals(data: bytes) -> tuple[list[CheckedSeal], str, str]:
    """Return the seals that fit, the last review, and what is wrong with the first misfit."""
    seals: list[CheckedSeal] = []
    review = ""
    try:
        for seal in find_seals(data):
            seals.append(check_seal(data, seal))
            review = review_under(data, seal, seals[-1])[0] or review
    except SignatureError as error:
        return seals, review, f"Line {error.line}: {error}."
    return seals, review, ""


def _to_the_end(data: bytes, seals: list[CheckedSeal]) -> bool:
    lines = data.count(b"\n")
    whole = data.endswith(b"\n") and bool(seals) and seals[-1].line == lines
    return whole and any(seal.role == TECHNICIAN for seal in seals)


def _people(people: object) -> list[Person]:
    return [
        Person(text_of(one.get("role", "")), text_of(one.get("name", "")), "")
        for one in (people if isinstance(people, list) else [])
        if isinstance(one, dict)
    ]


def _tools(tools: object) -> tuple[Tool, ...]:
    found: list[Tool] = []
    for tool in tools if isinstance(tools, list) else []:
        if isinstance(tool, dict):
            kind = text_of(tool.get("kind", ""))
            names = [text_of(tool[name]) for name in ("id", "serial", "name") if tool.get(name)]
            found += [Tool(kind, name) for name in dict.fromkeys(names)]
    return tuple(found)


def _verified(facts: Facts, path: Path, data: bytes) -> Facts:
    """Add what a whole verification finds; whether keys are trusted is no part of it."""
    from rockhold.evidence.verify import verify_bytes

    found = verify_bytes(path, data, {})
    worse = [(state, text) for state, text in found.problems if state != f.UNKNOWN_KEY]
    state = f.worst(state for state, _ in worse)
    if state != f.GOOD:
        text = next(text for one, text in worse if one == state)
        return replace(facts, state=state, problem=text, checked_utc=now_utc())
    return replace(facts, state=SEALED, checked_utc=now_utc())

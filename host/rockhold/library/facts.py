"""What the index keeps of a file: what the file says, and what was found of its signatures.

Nothing is trusted because it stands in the index. When a file is added, every signature is checked,
people's and the board's, as `rockhold verify` does: so damage and a changed header are noticed, and
no name stands as a signer's without its key. Whose key that is, is asked when somebody looks. Only
the result is not computed anew, which would take three times as long; `checked_utc` says when it
was.
"""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from rockhold.capture.names import text_of, vehicle_name, wheel_end_name
from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.errors import RockholdError
from rockhold.evidence import findings as f
from rockhold.evidence.verify import verify_bytes
from rockhold.library.result_facts import NOTHING, ResultFacts, result_facts
from rockhold.utc import now_utc

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
        checked_utc: When the result was computed anew, too; "" if it was not.
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
        verify: Compute the result anew, too.
    """
    bare = Facts(str(path.absolute()))
    try:
        stat = path.stat()
        bare = replace(bare, size_bytes=stat.st_size, mtime_ns=stat.st_mtime_ns)
        data = read_bytes(path)
        bare = replace(bare, size_bytes=len(data), sha256=hashlib.sha256(data).hexdigest())
        named = _of_header(bare, parse_capture(path, data))
        found = verify_bytes(path, data, {}, None if verify else _no_result)
    except OSError as error:
        return replace(bare, problem=f"cannot read {path}: {error.strerror}")
    except (RockholdError, MemoryError, RecursionError, OverflowError) as error:
        return replace(bare, problem=str(error) or "too large to read")
    facts = replace(named, people=_people(found, named.people), review=_review(found))
    return _judged(facts, found, verify)


def facts_of_lost(path: Path, why: str) -> Facts:
    """Return what stands in the index for a file that could not be looked at."""
    return Facts(str(path.absolute()), problem=why)


def _no_result(_capture: Capture) -> None:
    """Stand in for the computation of the result: nothing is then said of the stored one."""


def _judged(facts: Facts, found: f.Verification, verify: bool) -> Facts:
    """Add what was found of the file; whether keys are trusted is no part of it."""
    ignored = {f.UNKNOWN_KEY} if verify else {f.UNKNOWN_KEY, f.NOT_REPRODUCED}
    problems = [(state, text) for state, text in found.problems if state not in ignored]
    state = f.worst(state for state, _ in problems)
    return replace(
        facts,
        state=SEALED if state == f.GOOD else state,
        problem=next((text for one, text in problems if one == state), ""),
        checked_utc=now_utc() if verify else "",
    )


def _of_header(bare: Facts, capture: Capture) -> Facts:
    header = capture.header
    board, procedure = header.get("board"), header.get("procedure")
    return replace(
        bare,
        capture=text_of(header.get("capture", "")),
        opened_utc=text_of(header.get("opened_utc", "")),
        vehicle=vehicle_name(header.get("vehicle")),
        wheel_end=wheel_end_name(header.get("wheel_end")),
        board=text_of(board.get("name") or board.get("id")) if isinstance(board, dict) else "",
        procedure=text_of(procedure.get("name", "")) if isinstance(procedure, dict) else "",
        result=result_facts(capture),
        people=_named(header.get("people")),
        tools=_tools(header.get("tools")),
    )


def _named(people: object) -> tuple[Person, ...]:
    return tuple(
        Person(text_of(one.get("role", "")), text_of(one.get("name", "")), "")
        for one in (people if isinstance(people, list) else [])
        if isinstance(one, dict)
    )


def _people(found: f.Verification, named: tuple[Person, ...]) -> tuple[Person, ...]:
    """Return who sealed, and who is named besides."""
    signed = {
        (seal.role, seal.by): Person(seal.role, text_of(seal.by), seal.key, seal.signed_utc)
        for seal in found.seals
    }
    rest = (person for person in named if (person.role, person.name) not in signed)
    return (*signed.values(), *rest)


def _review(found: f.Verification) -> str:
    """Return the last review."""
    return next((seal.verdict for seal in reversed(found.seals) if seal.verdict), "")


def _tools(tools: object) -> tuple[Tool, ...]:
    found: list[Tool] = []
    for tool in tools if isinstance(tools, list) else []:
        if isinstance(tool, dict):
            kind = text_of(tool.get("kind", ""))
            names = [text_of(tool[name]) for name in ("id", "serial", "name") if tool.get(name)]
            found += [Tool(kind, name) for name in dict.fromkeys(names)]
    return tuple(found)

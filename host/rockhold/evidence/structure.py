"""Rules on a capture's lines that no single line's form shows, and what the header says."""

import hashlib
from collections.abc import Mapping

from rockhold.capture.names import vehicle_name, wheel_end_name
from rockhold.capture.reader import Capture
from rockhold.errors import SignatureError
from rockhold.evidence.linemarks import START as MARKS


def check_structure(data: bytes, capture: Capture, sealed: int) -> None:
    """Check that lines above the last seal stand where the format wants them.

    Args:
        data: The file.
        capture: Its lines.
        sealed: Where the last seal ends; 0 without one.

    Raises:
        SignatureError: At the first line that breaks a rule.
    """
    procedure = capture.header.get("procedure")
    if isinstance(procedure, dict):
        text = procedure.get("text")
        told = procedure.get("sha256")
        if not isinstance(text, str) or hashlib.sha256(text.encode()).hexdigest() != told:
            raise SignatureError("the procedure's text is not the one that its hash names", 1, 0)
    results = [number for number, value in capture.others if next(iter(value)) == "result"]
    first_end = min([*results, *capture.seals], default=0)
    for record in capture.records:
        if first_end and record.line > first_end:
            raise SignatureError(
                "a board's record stands below a result or a seal", record.line, record.start
            )
    # Below the last seal, marks are the last whole line (the seal after them was cut short), or a
    # note says that the file was recovered. Anything else was once a seal.
    start = data.find(b"\n" + MARKS, max(sealed - 1, 0)) + 1
    below = data.find(b"\n", start) + 1
    ends = data.find(b"\n", below) if below else -1
    if start and below and ends >= 0 and not data.startswith(b'{"note":', below):
        line = data.count(b"\n", 0, below) + 1
        raise SignatureError("a seal belongs here, and what stands here is none", line, below)


def _with_rest(name: str, value: object) -> str:
    """Return a name, followed by what else is known, each with what it is."""
    rest = value.items() if isinstance(value, dict) else ()
    known = [f"{key.replace('_', ' ')} {text}" for key, text in rest if str(text) not in ("", name)]
    return ", ".join(part for part in (name, *known) if part)


def job_of(header: Mapping[str, object]) -> dict[str, str]:
    """Return what a header says of the job, in words for a person."""
    facts = {"opened": str(header.get("opened_utc", ""))}
    facts["vehicle"] = _with_rest(vehicle_name(header.get("vehicle")), header.get("vehicle"))
    wheel_end = header.get("wheel_end")
    facts["wheel end"] = wheel_end_name(wheel_end) or _with_rest("", wheel_end)
    people = header.get("people")
    for person in people if isinstance(people, list) else []:
        if isinstance(person, dict):
            facts[str(person.get("role", "person"))] = str(person.get("name", ""))
    return {title: text for title, text in facts.items() if text}

"""A tool's record: values, their checks, and the text of its file.

kind = "torque tool"
serial = "44-1821"
mpe_percent = 4.0            # limit of error, in per cent of the reading
resolution_nm = 0.1
calibrated_on = 2026-03-02
due_on = 2027-03-02          # left out: twelve months after calibrated_on
certificate = "K-2026-118"
"""

import calendar
import dataclasses
import json
import re
import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from math import isfinite
from typing import Any

from rockhold.capture.tooling import INDICATOR, KINDS, MOST_CYCLES, is_overdue
from rockhold.errors import ToolError

ID_FORM = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,31}")
MONTHS = 12  # from calibration to calibration where nothing else is said; ISO 6789, from memory

_TEXTS = ("name", "serial", "certificate", "retired_because")
_DATES = ("calibrated_on", "due_on", "retired_on")
_LENGTHS = ("step_mm", "mpe_mm")
_TORQUES = ("resolution_nm", "mpe_percent", "largest_nm")
_KNOWN = ("kind", *_TEXTS, *_LENGTHS, *_TORQUES, "cycles", *_DATES)


@dataclass(frozen=True, slots=True)
class ToolRecord:
    """What is known of one tool; None or "" where nothing is.

    Attributes:
        id: How it is named on the command line, for example "W7".
        kind: "indicator", "torque tool" or "transducer".
        name: What people call it.
        serial: Serial number.
        certificate: Number of its calibration certificate.
        step_mm: One count of an indicator, in mm.
        mpe_mm: Limit of error of an indicator, half width, in mm.
        resolution_nm: One step of a torque tool's digits, in N·m.
        mpe_percent: Limit of error of a torque tool, half width, in per cent of the reading.
        largest_nm: The largest torque it is made for, in N·m.
        cycles: Uses since its calibration, as told.
        calibrated_on: Day of its calibration.
        due_on: Last day on which that counts.
        retired_on: Day since which it is not used any more.
        retired_because: Why.
    """

    id: str
    kind: str
    name: str = ""
    serial: str = ""
    certificate: str = ""
    step_mm: float | None = None
    mpe_mm: float | None = None
    resolution_nm: float | None = None
    mpe_percent: float | None = None
    largest_nm: float | None = None
    cycles: int | None = None
    calibrated_on: date | None = None
    due_on: date | None = None
    retired_on: date | None = None
    retired_because: str = ""

    def facts(self) -> dict[str, object]:
        """Return what is known as plain values, dates as texts; what is not known is left out."""
        values = dataclasses.asdict(self)
        return {
            name: value.isoformat() if isinstance(value, date) else value
            for name, value in values.items()
            if value not in (None, "")
        }

    def overdue(self, day: date) -> bool:
        """Return whether its calibration has run out on a day."""
        return is_overdue(self.facts(), day)

    def why_overdue(self, day: date) -> str:
        """Return a sentence for the person who is about to use an overdue tool, "" for others."""
        if not self.overdue(day):
            return ""
        if self.due_on is not None and day > self.due_on:
            why = f"its calibration was due on {self.due_on.isoformat()}"
        else:
            why = (
                f"it was used {self.cycles} times since its calibration, {MOST_CYCLES} is the most"
            )
        return (
            f"{self.kind} {self.id} is overdue: {why}. The result will say so. Have it calibrated, "
            f"then: rockhold tools add {self.id} --again …"
        )


def due_after(calibrated_on: date, months: int = MONTHS) -> date:
    """Return the day so many months later, or the last of that month."""
    index = calibrated_on.year * 12 + calibrated_on.month - 1 + months
    year, month = divmod(index, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(calibrated_on.day, last))


def checked(values: dict[str, Any], tool_id: str, where: str = "") -> ToolRecord:
    """Return the record with these values.

    Args:
        values: By the names of ToolRecord, without the id; None and "" stand for unknown.
        tool_id: The tool's id.
        where: Put before each complaint, for example a file's name.

    Raises:
        ToolError: With the name of the first value that does not fit as `field`.
    """
    given = {name: value for name, value in values.items() if value not in (None, "")}
    for name in given:
        if name not in _KNOWN:
            raise ToolError(f"{where}{name}: no such entry; known are {', '.join(_KNOWN)}", name)
    kind = given.get("kind")
    if not ID_FORM.fullmatch(tool_id):
        raise ToolError(f"{where}a tool's id has 1 to 32 letters, digits, - or _, not {tool_id!r}")
    if kind not in KINDS:
        raise ToolError(f"{where}kind: write one of {', '.join(KINDS)}", "kind")
    for name, value in given.items():
        _check(name, value, kind, where)
    if "calibrated_on" in given:
        given.setdefault("due_on", due_after(given["calibrated_on"]))
        if given["due_on"] < given["calibrated_on"]:
            raise ToolError(f"{where}due_on: lies before calibrated_on", "due_on")
    return ToolRecord(tool_id, **given)


def _check(name: str, value: object, kind: str, where: str) -> None:
    problem = ""
    if name in _TEXTS:
        if not isinstance(value, str) or not value.isprintable() or len(value) > 200:
            problem = "must be a text of at most 200 characters that can be printed"
    elif name in _DATES:
        if not isinstance(value, date) or isinstance(value, datetime):
            problem = "must be a day, written 2026-03-02 and without quotes"
    elif name == "cycles":
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            problem = "must be a whole number of zero or more"
    elif name != "kind":
        if (name in _LENGTHS) != (kind == INDICATOR):
            problem = f"does not belong to a tool of the kind {kind}"
        elif isinstance(value, bool) or not isinstance(value, int | float):
            problem = "must be a number"
        elif not (isfinite(value) and 0 < value < 1e5):
            problem = "must be above zero and below 100000"
    if problem:
        raise ToolError(f"{where}{name}: {problem}, is {value!s}", name)


def from_text(text: str, tool_id: str, where: str) -> ToolRecord:
    """Return the record in the text of a file.

    Args:
        text: The text.
        tool_id: The tool's id.
        where: The file's name, for complaints.

    Raises:
        ToolError: When it cannot be used; the sentence names the line.
    """
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ToolError(f"{where}: not valid TOML: {error}") from error
    try:
        return checked(values, tool_id)
    except ToolError as error:
        line = _line_of(text, error.field)
        raise ToolError(
            f"{where}{f', line {line}' if line else ''}: {error}", error.field
        ) from error


def to_text(record: ToolRecord) -> str:
    """Return a record as the text of its file."""
    rows = []
    for name in _KNOWN:
        value = getattr(record, name)
        if value in (None, ""):
            continue
        # A JSON string is a TOML basic string, too.
        text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
        rows.append(f"{name} = {text}\n")
    return "".join(rows)


def _line_of(text: str, field: str) -> int:
    pattern = re.compile(rf"\s*[\"']?{re.escape(field)}[\"']?\s*=") if field else None
    for number, line in enumerate(text.splitlines(), start=1):
        if pattern is not None and pattern.match(line):
            return number
    return 0

"""What a person knows of vehicle, wheel end and work before the job, from options and a file."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rockhold.cli.option_text import option_text
from rockhold.errors import UsageError
from rockhold.procedure.toml_lines import line_of, parse

# 49 CFR 396.3(b)(1): company number if so marked, make, serial number, year, tire size, and who
# furnishes the vehicle if it is not owned; (b)(2): nature and due date of the operations.
_VEHICLE = ("number", "make", "serial", "year", "tyre_size", "owner", "unit", "note")
_WHEEL_END = (
    "axle", "side", "position", "kind", "text", "threads_per_inch", "lock_positions", "hub_bolts",
)  # fmt: skip
_WORK = ("nature", "due_on")
_TABLES = {"vehicle": _VEHICLE, "wheel_end": _WHEEL_END, "work": _WORK}
_OPTIONS = {"number": "vehicle", "position": "wheel-end", "threads_per_inch": "threads"}
SIDES = ("left", "right")
Facts = dict[str, dict[str, Any]]


def read_facts(path: Path | None) -> Facts:
    """Return the tables of a vehicle file; empty ones without a file.

    Raises:
        UsageError: With file, line and key.
    """
    facts: Facts = {name: {} for name in _TABLES}
    if path is None:
        return facts
    text = option_text("--vehicle-file", path)
    for name, table in parse(text, str(path)).items():
        if name not in _TABLES or not isinstance(table, dict):
            raise _error(path, text, (name,), f"write tables [{'], ['.join(_TABLES)}]")
        for key, value in table.items():
            problem = _problem(name, key, value)
            if problem:
                raise _error(path, text, (name, key), problem)
            facts[name][key] = value.isoformat() if isinstance(value, date) else value
    return facts


def with_options(facts: Facts, table: str, options: Mapping[str, object]) -> None:
    """Put what options say over what the file says.

    Raises:
        UsageError: When an option does not fit.
    """
    for key, value in options.items():
        if value in (None, ""):
            continue
        problem = _problem(table, key, value)
        if problem:
            raise UsageError(f"--{_OPTIONS.get(key, key.replace('_', '-'))}: {problem}")
        facts[table][key] = value


def _problem(table: str, key: str, value: object) -> str:
    if key not in _TABLES[table]:
        return f"unknown; known are {', '.join(_TABLES[table])}"
    if key in ("axle", "lock_positions", "hub_bolts"):
        good = isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 100
        return "" if good else f"must be a whole number from 1 to 100, is {value!r}"
    if key == "threads_per_inch":
        good = isinstance(value, int | float) and not isinstance(value, bool) and 1 <= value <= 100
        return "" if good else f"must be a number from 1 to 100, is {value!r}"
    if key == "side":
        return "" if value in SIDES else f'write "left" or "right", is {value!r}'
    if key == "due_on":
        return _date_problem(value)
    if key == "year" and isinstance(value, int):
        return "" if 1900 <= value <= 2100 else f"is {value!r}"
    good = isinstance(value, str) and value.isprintable() and 0 < len(value) <= 120
    return "" if good else f"must be a text of at most 120 characters, is {value!r}"


def _date_problem(value: object) -> str:
    try:
        date.fromisoformat(str(value))
    except ValueError:
        return f"write a date as 2027-01-31, is {value!r}"
    return ""


def _error(path: Path, text: str, where: tuple[str, ...], words: str) -> UsageError:
    return UsageError(f"{path}, line {line_of(text, where)}: {'.'.join(where)}: {words}")

"""The results that a study is made of, and the table that they fill."""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

import numpy as np

from rockhold.errors import CaptureFormatError, TooFewSamplesError
from rockhold.measure.trace import MM_PER_INCH
from rockhold.study.anova import Values

_COLUMNS = ("person", "wheel_end", "trial")
_UNITS = {"end_play_mm": 1.0, "end_play_in": MM_PER_INCH}


@dataclass(frozen=True, slots=True)
class Trial:
    """One result.

    Attributes:
        person: Who measured.
        wheel_end: Where.
        trial: Which time; texts of digits sort as numbers.
        end_play_mm: What was measured.
    """

    person: str
    wheel_end: str
    trial: str
    end_play_mm: float


@dataclass(frozen=True, slots=True)
class Table:
    """A full table: everybody measured every wheel end equally often.

    Attributes:
        people: Names, in order of the first axis.
        wheel_ends: Names, in order of the second axis.
        values_mm: Persons by wheel ends by trials.
    """

    people: tuple[str, ...]
    wheel_ends: tuple[str, ...]
    values_mm: Values


def table_of(trials: Iterable[Trial]) -> Table:
    """Return the table that trials fill.

    Raises:
        TooFewSamplesError: When there are too few, or the table has holes.
    """
    cells: dict[tuple[str, str], dict[str, float]] = {}
    for one in trials:
        cell = cells.setdefault((one.person, one.wheel_end), {})
        if one.trial in cell:
            raise TooFewSamplesError(
                f"trial {one.trial} of {one.person} at {one.wheel_end} is there twice; give each "
                "trial a number of its own"
            )
        cell[one.trial] = one.end_play_mm
    people = tuple(sorted({person for person, _ in cells}))
    wheel_ends = tuple(sorted({wheel_end for _, wheel_end in cells}))
    count = max((len(cell) for cell in cells.values()), default=0)
    if len(wheel_ends) < 2 or count < 2:
        raise TooFewSamplesError(
            f"{len(people)} people, {len(wheel_ends)} wheel ends, {count} trials: a study needs at "
            "least 2 wheel ends and 2 trials of each; 3 people, 10 wheel ends and 3 trials are "
            "common practice"
        )
    holes = [
        f"{person} at {wheel_end}: {len(cells.get((person, wheel_end), ()))}"
        for person in people
        for wheel_end in wheel_ends
        if len(cells.get((person, wheel_end), ())) != count
    ]
    if holes:
        shown = "; ".join(holes[:3]) + (f"; and {len(holes) - 3} more" if len(holes) > 3 else "")
        raise TooFewSamplesError(
            f"everybody must measure every wheel end equally often ({count} times here), but "
            f"{shown}. Measure what is missing, or leave that person or wheel end out"
        )
    values = [
        [_in_order(cells[person, wheel_end]) for wheel_end in wheel_ends] for person in people
    ]
    return Table(people, wheel_ends, np.array(values, dtype=np.float64))


def _in_order(cell: dict[str, float]) -> Sequence[float]:
    order = sorted(cell, key=lambda trial: (int(trial) if trial.isdecimal() else 0, trial))
    return [cell[trial] for trial in order]


def read_trials(path: Path) -> list[Trial]:
    """Return the results of a CSV with the columns person, wheel_end, trial, end_play_mm (or _in).

    Raises:
        CaptureFormatError: With the line that cannot be used.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = csv.DictReader(file)
            names = rows.fieldnames or ()
            unit = next((name for name in _UNITS if name in names), None)
            if unit is None or not set(_COLUMNS) <= set(names):
                raise CaptureFormatError(
                    f"{path}: its first line must name person, wheel_end, trial and end_play_mm "
                    "(or end_play_in)",
                    1,
                )
            return [_trial(row, unit, f"{path}, line {rows.line_num}") for row in rows]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise CaptureFormatError(f"{path} cannot be read: {error}") from error


def _trial(row: dict[str, str | None], unit: str, where: str) -> Trial:
    texts = [(row[name] or "").strip() for name in _COLUMNS]
    if not all(texts):
        raise CaptureFormatError(f"{where}: person, wheel_end or trial is empty")
    text = (row[unit] or "").strip()
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise CaptureFormatError(f"{where}: {unit} is {text!r}, which is no number")
    return Trial(texts[0], texts[1], texts[2], value * _UNITS[unit])

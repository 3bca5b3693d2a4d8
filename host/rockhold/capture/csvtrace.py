"""Read a plain CSV trace: a header `t_s,travel_mm` or `t_s,travel_in`, then numbers."""

import csv
import io
from math import isfinite
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rockhold.capture.reader import foreign_kind
from rockhold.errors import CaptureFormatError, OutOfRangeError
from rockhold.measure.trace import MM_PER_INCH, Trace, UnitSpan

Floats = NDArray[np.float64]

_UNITS = {"travel_mm": ("mm", 1.0), "travel_in": ("in", MM_PER_INCH)}
# Counts that gauges have: 1, 2 or 5 times a power of ten, in their own unit or the other one.
_NICE = tuple(m * 10.0**e for e in range(-6, 1) for m in (1, 2, 5))
_LONGEST_S = 1e9
SLOWEST_S = 2.0  # between two readings, usually
_LONGEST_HEAD = 4096  # characters
_FIRST_BYTES = 8
LARGEST = 1 << 28  # bytes; a day of readings is far smaller


def read_csv(path: Path, step_mm: float | None = None) -> Trace:
    """Return the trace in a CSV file.

    Args:
        path: The file.
        step_mm: The gauge's count, in mm; worked out from the readings if it is not given.

    Raises:
        CaptureFormatError: If the file is no such CSV; the message has the line.
    """
    try:
        with path.open("rb") as stored:
            if kind := foreign_kind(stored.read(_FIRST_BYTES)):
                raise CaptureFormatError(
                    f"{path} is neither a capture nor a CSV trace: it begins like {kind}", 1
                )
        with path.open(encoding="utf-8-sig") as file:
            # The heading first: whatever else a huge file holds need not be read.
            head = file.readline(_LONGEST_HEAD)
            _columns(head, str(path))
            if path.stat().st_size > LARGEST:
                raise CaptureFormatError(f"{path}: larger than {LARGEST} bytes; cut it in parts")
            text = head + file.read()
    except OSError as error:
        raise CaptureFormatError(f"{path}: cannot read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise CaptureFormatError(
            f"{path}: is no UTF-8 text (byte {error.start}); save it as plain UTF-8 CSV"
        ) from error
    return trace_from_text(text, str(path), step_mm)


def trace_from_text(text: str, where: str, step_mm: float | None = None) -> Trace:
    """Return the trace in the text of a CSV; `where` names it in errors."""
    if step_mm is not None and not (isfinite(step_mm) and step_mm > 0):
        raise OutOfRangeError(f"--step-mm: the gauge's count must be above zero, is {step_mm}")
    head, _, body = text.partition("\n")
    columns, unit_name = _columns(head, where)
    t_s, travel = _numbers(body, columns, where)
    _refuse_other_clock(t_s, where)
    unit, scale = _UNITS[unit_name]
    step = infer_step(travel, scale) if step_mm is None else step_mm / scale
    origin = 0.0
    if len(travel) and abs(travel[0] / step - np.rint(travel[0] / step)) > 0.1:
        origin = float(travel[0])  # zero lies between two counts; only differences matter
    count = np.rint((travel - origin) / step).astype(np.int64)
    t_us = np.rint(t_s * 1e6).astype(np.int64)
    return Trace(t_us, count, (UnitSpan(0, unit, step * scale),))


def _refuse_other_clock(t_s: Floats, where: str) -> None:
    """Refuse times that can hardly be seconds: no indicator is read so seldom in this job."""
    if len(t_s) < 3:
        return
    spacing_s = float(np.median(np.diff(t_s)))
    if spacing_s > SLOWEST_S:
        raise CaptureFormatError(
            f"{where}: column t_s: the readings lie {spacing_s:g} s apart; a hold lasts a second. "
            "If these are milliseconds, divide them by 1000"
        )


def _columns(head: str, where: str) -> tuple[tuple[int, int], str]:
    """Return which columns hold time and travel, and the name of the travel."""
    names = [name.strip().strip('"').lower() for name in head.split(",")]
    unit_name = next((name for name in _UNITS if name in names), None)
    if "t_s" not in names or unit_name is None:
        if not head.strip():
            raise CaptureFormatError(
                f"{where}: line 1 is empty; it needs the header t_s,travel_mm or t_s,travel_in", 1
            )
        shown = head.strip()[:60]
        hint = "; separate values by commas, with points for decimals" if ";" in head else ""
        raise CaptureFormatError(
            f"{where}: line 1: needs the header t_s,travel_mm or t_s,travel_in; found {shown!r}"
            + hint,
            1,
        )
    return (names.index("t_s"), names.index(unit_name)), unit_name


def _numbers(body: str, columns: tuple[int, int], where: str) -> tuple[Floats, Floats]:
    """Return times and travels; the quick way first, the slow one to name a faulty line."""
    if body.strip():
        try:
            table = np.loadtxt(
                io.StringIO(body), delimiter=",", usecols=columns, ndmin=2, comments=None
            )
            t_s, travel = table[:, 0], table[:, 1]
        except ValueError:
            t_s, travel = _slow_numbers(body, columns, where)
    else:
        t_s, travel = np.empty(0), np.empty(0)
    bad = ~(np.isfinite(travel) & (np.abs(t_s) < _LONGEST_S) & (np.abs(travel) < 1e6))
    if bad.any() or (np.diff(t_s) < 0).any():
        _slow_numbers(body, columns, where)
    return t_s, travel


def _slow_numbers(body: str, columns: tuple[int, int], where: str) -> tuple[Floats, Floats]:
    rows: list[tuple[float, float]] = []
    before = -_LONGEST_S
    for line, cells in enumerate(csv.reader(io.StringIO(body)), start=2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) <= max(columns):
            raise CaptureFormatError(
                f"{where}: line {line}: has {len(cells)} of {max(columns) + 1} values", line
            )
        try:
            t_s, travel = (float(cells[column]) for column in columns)
        except ValueError:
            shown = ",".join(cells)[:40]
            raise CaptureFormatError(
                f"{where}: line {line}: {shown!r} is not a pair of numbers", line
            ) from None
        if not (abs(t_s) < _LONGEST_S and abs(travel) < 1e6):
            raise CaptureFormatError(
                f"{where}: line {line}: {t_s}, {travel} is no time and travel of a gauge", line
            )
        if t_s < before:
            raise CaptureFormatError(
                f"{where}: line {line}: time goes back from {before} s to {t_s} s", line
            )
        before = t_s
        rows.append((t_s, travel))
    table = np.array(rows, dtype=np.float64).reshape(-1, 2)
    return table[:, 0], table[:, 1]


def _last_place(values: Floats) -> float:
    """Return one unit of the last printed decimal: half of it may be lost on both values."""
    for places in range(10):
        scaled = values * 10.0**places
        if np.abs(scaled - np.rint(scaled)).max() < 1e-4:
            return float(1.01 * 10.0**-places)
    return 1e-9


def infer_step(travel: Floats, mm_per_unit: float) -> float:
    """Return the count of the gauge that showed these values, in their own unit.

    The largest usual count of which all differences are multiples, allowing for the rounding of
    printed digits; without one, the smallest difference that occurs; 1 µm for a constant trace.
    """
    values = np.unique(travel)
    gaps = np.diff(values)
    gaps = gaps[gaps > 1e-9]
    if not len(gaps):
        return 0.001 / mm_per_unit
    smallest = float(gaps.min())
    other = MM_PER_INCH if mm_per_unit == 1.0 else 1 / MM_PER_INCH
    usual = sorted({*_NICE, *(nice * other for nice in _NICE)}, reverse=True)
    shifted = values - values[0]
    printed = _last_place(values)
    for step in usual:
        if step > 1.3 * smallest:
            continue
        if step < 0.02 * smallest:
            break
        miss = np.abs(shifted - step * np.rint(shifted / step))
        if float(miss.max()) <= min(printed, 0.2 * step):
            return float(step)
    return smallest

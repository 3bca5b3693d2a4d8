"""The rows of readings of a capture, one for each source the board had: torque, turning, knocks.

The indicator's own readings, in its own counts, are trace.py's.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rockhold.capture.reader import Capture
from rockhold.capture.trace import frames_of
from rockhold.errors import CaptureFormatError
from rockhold.measure.torque.units import FACTORS, LBF_FT, LBF_IN, NM
from rockwire import messages as m
from rockwire import units

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TORQUE = "torque_nm"
TURNING = "turning_deg_s"
KNOCK = "knock_mg"
KINDS = (TORQUE, TURNING, KNOCK)
LARGEST_COUNT = 1 << 31
LATEST_US = 1 << 62

# Unit on the wire → what the channel holds, and one of the unit in it.
_KINDS: dict[int, tuple[str, Fraction]] = {
    units.NEWTON_METRE: (TORQUE, FACTORS[NM]),
    units.POUND_FOOT: (TORQUE, FACTORS[LBF_FT]),
    units.POUND_INCH: (TORQUE, FACTORS[LBF_IN]),
    units.MILLIDEGREE_PER_SECOND: (TURNING, Fraction(1, 1000)),
    units.MILLI_G: (KNOCK, Fraction(1)),
}


@dataclass(frozen=True, slots=True)
class Channel:
    """The readings of one source.

    Attributes:
        source: Its index in the capture.
        name: What the board calls it.
        holds: TORQUE, TURNING or KNOCK; the unit is the last word.
        t_us: Board time of each reading, in µs; never goes back.
        value: Each reading, in the unit of `holds`.
    """

    source: int
    name: str
    holds: str
    t_us: Ints
    value: Floats


@dataclass(slots=True)
class _Row:
    """Readings of one source while they are collected."""

    holds: str
    t_us: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)


def channels_of(capture: Capture) -> tuple[Channel, ...]:
    """Return every channel of torque, turning or knocks that has readings, by source.

    Raises:
        CaptureFormatError: When a record is damaged or holds what no instrument can send.
    """
    return channels_from((frame.message for frame in frames_of(capture)), str(capture.path))


def channel_of(capture: Capture, holds: str) -> Channel | None:
    """Return the first channel of a kind, None when the capture has none.

    Args:
        capture: The capture.
        holds: TORQUE, TURNING or KNOCK.

    Raises:
        CaptureFormatError: As `channels_of`.
    """
    return next((row for row in channels_of(capture) if row.holds == holds), None)


def channels_from(
    messages: Iterable[tuple[object, ...] | None], where: str, kinds: tuple[str, ...] = KINDS
) -> tuple[Channel, ...]:
    """Return the channels of some kinds from messages; `where` names them in errors.

    Raises:
        CaptureFormatError: When they hold what no instrument can send.
    """
    names: dict[int, str] = {}
    rows: dict[int, _Row] = {}
    for message in messages:
        if isinstance(message, m.Source):
            names[message.source] = message.name
        elif isinstance(message, m.Readings) and kind_of(message) in kinds:
            _take(where, rows, message)
    return tuple(
        Channel(
            source,
            names.get(source, ""),
            row.holds,
            np.array(row.t_us, dtype=np.int64),
            np.array(row.value, dtype=np.float64),
        )
        for source, row in sorted(rows.items())
    )


def _take(where: str, rows: dict[int, _Row], message: m.Readings) -> None:
    holds, _ = _KINDS[message.scale.unit]
    row = rows.setdefault(message.source, _Row(holds))
    if row.holds != holds:
        raise CaptureFormatError(f"{where}: source {message.source} sends {holds} and {row.holds}")
    times = list(message.t_us)
    if sorted(times) != times or (row.t_us and times[0] < row.t_us[-1]) or times[-1] > LATEST_US:
        raise CaptureFormatError(f"{where} holds readings that go back in time")
    if max(map(abs, message.count)) > LARGEST_COUNT or abs(message.scale.exponent) > 12:
        raise CaptureFormatError(f"{where} holds a reading that no instrument can send")
    row.t_us.extend(times)
    row.value.extend(values_of(message))


def kind_of(message: m.Readings) -> str | None:
    """Return what a batch of readings holds: TORQUE, TURNING, KNOCK, or None for anything else."""
    kind = _KINDS.get(message.scale.unit)
    return kind[0] if kind is not None else None


def values_of(message: m.Readings) -> list[float]:
    """Return the readings of a batch of a known kind, in the unit of that kind."""
    # One count as a fraction: each value is rounded once.
    one = _KINDS[message.scale.unit][1]
    one *= message.scale.mantissa * Fraction(10) ** message.scale.exponent
    return [count * one.numerator / one.denominator for count in message.count]


def torque_unit(message: m.Readings) -> str | None:
    """Return the unit of a batch of torque readings, None for readings of anything else."""
    return units.NAMES[message.scale.unit] if kind_of(message) == TORQUE else None

"""From the records of a capture to the readings of one source."""

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np

from rockhold.capture.packets import unpacked
from rockhold.capture.reader import Capture, read_capture
from rockhold.errors import CaptureFormatError, TooFewSamplesError
from rockhold.measure.trace import MM_PER_INCH, Mark, Trace, UnitSpan
from rockwire import frames, units
from rockwire import messages as m
from rockwire.errors import FrameError

LARGEST_COUNT = 1 << 21  # a gauge of six digits shows at most 999999
LONGEST_US = 86_400_000_000  # a capture is one sitting, never more than a day
LATEST_US = 1 << 62  # board time; 146 000 years after power-up

_LENGTHS_MM = {units.MM: 1.0, units.INCH: MM_PER_INCH}


def frames_of(capture: Capture) -> Iterator[frames.Frame]:
    """Yield the records of a capture, decoded.

    Raises:
        CaptureFormatError: At the first record that is damaged.
    """
    for record in capture.records:
        try:
            frame = unpacked(record.packet)
        except FrameError as error:
            raise CaptureFormatError(
                f"{capture.path}: the record on line {record.line} is damaged ({error})",
                record.line,
            ) from error
        if frame.number is None:
            raise CaptureFormatError(
                f"{capture.path}: line {record.line} is not a record of a capture", record.line
            )
        yield frame


def step_mm(scale: units.Scale) -> float:
    """Return one count in mm.

    Raises:
        CaptureFormatError: When the unit is not a length.
    """
    if scale.unit not in _LENGTHS_MM:
        raise CaptureFormatError(f"{units.NAMES.get(scale.unit, '?')} is not a length")
    # Dividing by a whole power of ten rounds once; multiplying by 1e-4 would round twice.
    power = 10 ** abs(scale.exponent)
    factor = scale.mantissa / power if scale.exponent < 0 else scale.mantissa * power
    return float(factor * _LENGTHS_MM[scale.unit])


def load_trace(path: Path) -> Trace:
    """Return the indicator's readings of a capture file.

    Raises:
        RockholdError: When the file cannot be read or holds no readings of an indicator.
    """
    return trace_of(read_capture(path))


def trace_of(capture: Capture, source: int = 0) -> Trace:
    """Return the readings of one source.

    Args:
        capture: The capture.
        source: The source's index; 0 is the indicator.

    Raises:
        TooFewSamplesError: When there is none.
        CaptureFormatError: When a record is damaged.
    """
    times: list[int] = []
    counts: list[int] = []
    spans: list[UnitSpan] = []
    marks: list[Mark] = []
    last_scale = None
    for frame in frames_of(capture):
        message = frame.message
        if isinstance(message, m.Readings) and message.source == source:
            if message.scale != last_scale:
                last_scale = message.scale
                step = step_mm(message.scale)  # refuses what is no length
                spans.append(UnitSpan(len(times), units.NAMES[message.scale.unit], step))
            times.extend(message.t_us)
            counts.extend(message.count)
        elif isinstance(message, m.Event) and message.source in (source, m.ALL_SOURCES):
            code = m.EVENTS.get(message.code, f"event_{message.code}")
            marks.append(Mark(code, message.t_us, message.value))
        elif isinstance(message, m.Dropped) and message.source == source:
            marks.append(Mark("readings_dropped", message.first_us, message.readings))
    if not times:
        raise TooFewSamplesError(f"{capture.path} holds no readings of the indicator")
    _check_bounds(capture, times, counts)
    return Trace(
        np.array(times, dtype=np.int64),
        np.array(counts, dtype=np.int64),
        tuple(spans),
        tuple(marks),
    )


def _check_bounds(capture: Capture, times: list[int], counts: list[int]) -> None:
    # Only a hostile file has such readings, and the arithmetic of the measurement would spend all
    # memory on them or overflow.
    if max(map(abs, counts)) > LARGEST_COUNT:
        raise CaptureFormatError(f"{capture.path} holds a reading that no gauge can show")
    if times[0] > LATEST_US or times[-1] - times[0] > LONGEST_US:
        raise CaptureFormatError(f"{capture.path} holds readings over more than a day")
    if any(later < earlier for earlier, later in pairwise(times)):
        raise CaptureFormatError(f"{capture.path} holds readings that go back in time")

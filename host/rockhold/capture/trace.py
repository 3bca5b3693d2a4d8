"""From the records of a capture to the readings of one source."""

from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np

from rockhold.capture.packets import fault_of, unpacked
from rockhold.capture.reader import Capture
from rockhold.capture.steps import attempts_of, measured_attempt, window_of
from rockhold.errors import CaptureFormatError, NotSettledError, TooFewSamplesError
from rockhold.measure.trace import MM_PER_INCH, Mark, Trace, UnitSpan
from rockwire import frames, units
from rockwire import messages as m
from rockwire.errors import FrameError

LARGEST_COUNT = 1 << 21  # a gauge of six digits shows at most 999999
LONGEST_US = 86_400_000_000  # a capture is one sitting, never more than a day
LARGEST_RATIO = 1000  # of the steps in a gauge's units; 0.01 mm and 0.0005 in are 1.27
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
                f"{capture.path}: the record on line {record.line} is damaged: {fault_of(error)}",
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


def trace_of(capture: Capture, source: int = 0, window_us: tuple[int, int] | None = None) -> Trace:
    """Return the readings of one source.

    Args:
        capture: The capture.
        source: The source's index; 0 is the indicator.
        window_us: First and last board time that count, in µs; None for all.

    Raises:
        TooFewSamplesError: When there is none.
        CaptureFormatError: When a record is damaged.
    """
    messages = (frame.message for frame in frames_of(capture))
    return trace_from(messages, str(capture.path), source, window_us)


def measured_trace(capture: Capture) -> Trace:
    """Return the indicator's readings that a capture's result is computed from.

    For a guided job those of the last end-play attempt; else all.

    Raises:
        NotSettledError: When a guided job measured no end play.
        RockholdError: As `trace_of`.
    """
    return trace_of(capture, window_us=measured_window(capture))


def measured_window(capture: Capture) -> tuple[int, int] | None:
    """Return first and last board time, in µs, of what a result is computed from; None for all.

    Raises:
        NotSettledError: When a guided job measured no end play.
    """
    attempt = measured_attempt(capture)
    if attempt is not None:
        return window_of(capture, attempt)
    if attempts_of(capture):
        raise NotSettledError("no end play was measured in this job")
    return None


def trace_from(
    messages: Iterable[tuple[object, ...] | None],
    where: str,
    source: int = 0,
    window_us: tuple[int, int] | None = None,
) -> Trace:
    """Return the readings of one source from messages; `where` names them in errors.

    Raises:
        TooFewSamplesError: When there is none.
        CaptureFormatError: When they hold what no gauge can send.
    """
    first_us, last_us = window_us or (0, 1 << 64)
    times: list[int] = []
    counts: list[int] = []
    spans: list[UnitSpan] = []
    marks: list[Mark] = []
    last_scale = None
    for message in messages:
        if isinstance(message, m.Readings) and message.source == source:
            shown = zip(message.t_us, message.count, strict=True)
            rows = [row for row in shown if first_us <= row[0] <= last_us]
            if rows and message.scale != last_scale:
                last_scale = message.scale
                step = step_mm(message.scale)  # refuses what is no length
                spans.append(UnitSpan(len(times), units.NAMES[message.scale.unit], step))
            times.extend(t_us for t_us, _ in rows)
            counts.extend(count for _, count in rows)
        elif (mark := _mark_of(message, source)) and first_us <= mark.t_us <= last_us:
            marks.append(mark)
    if not times:
        raise TooFewSamplesError(f"{where} holds no readings of the indicator")
    _check_bounds(where, times, counts, [span.step_mm for span in spans])
    return Trace(
        np.array(times, dtype=np.int64),
        np.array(counts, dtype=np.int64),
        tuple(spans),
        tuple(marks),
    )


def _mark_of(message: tuple[object, ...] | None, source: int) -> Mark | None:
    if isinstance(message, m.Event) and message.source in (source, m.ALL_SOURCES):
        code = m.EVENTS.get(message.code, f"event_{message.code}")
        return Mark(code, message.t_us, message.value)
    if isinstance(message, m.Dropped) and message.source == source:
        return Mark("readings_dropped", message.first_us, message.readings)
    return None


def _check_bounds(where: str, times: list[int], counts: list[int], steps_mm: list[float]) -> None:
    # Only a hostile file has such readings, and the arithmetic of the measurement would spend all
    # memory on them or overflow.
    if max(map(abs, counts)) > LARGEST_COUNT:
        raise CaptureFormatError(f"{where} holds a reading that no gauge can show")
    if times[0] > LATEST_US or times[-1] - times[0] > LONGEST_US:
        raise CaptureFormatError(f"{where} holds readings over more than a day")
    if any(later < earlier for earlier, later in pairwise(times)):
        raise CaptureFormatError(f"{where} holds readings that go back in time")
    if max(steps_mm) > LARGEST_RATIO * min(steps_mm):
        raise CaptureFormatError(f"{where} holds steps of one gauge that no gauge has side by side")

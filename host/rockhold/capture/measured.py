"""What the result of a capture is computed from: the indicator, and how the wheel turned."""

from collections.abc import Sequence
from dataclasses import replace

from rockhold.capture.channels import LATEST_US, TURNING, channels_from
from rockhold.capture.reader import Capture
from rockhold.capture.steps import measured_attempt, noted_free_us
from rockhold.capture.trace import frames_of, measured_window, trace_from
from rockhold.errors import TooFewSamplesError
from rockhold.measure.free_stop import NOTED_US, stop_shown
from rockhold.measure.hub.turning import Turning
from rockhold.measure.trace import Trace

Messages = Sequence[tuple[object, ...] | None]


def measured_readings(capture: Capture) -> tuple[Trace, Turning | None]:
    """Return the readings that count, and what a motion sensor saw meanwhile; None without one.

    Raises:
        NotSettledError: When a guided job measured no end play.
        RockholdError: When there is no reading of an indicator, or a record is damaged.
    """
    window_us = measured_window(capture)
    messages = [frame.message for frame in frames_of(capture)]
    where = str(capture.path)
    attempt = measured_attempt(capture)
    noted_us = None if attempt is None else noted_free_us(capture, attempt)
    trace = readings_from(messages, where, window_us, noted_us)
    return trace, turning_from(messages, where, window_us)


def readings_from(
    messages: Messages, where: str, window_us: tuple[int, int] | None, noted_us: int | None
) -> Trace:
    """Return the indicator's readings; `where` names the messages in errors.

    Args:
        messages: What the board said.
        where: The file, for words.
        window_us: First and last board time that count, in µs; None for all.
        noted_us: When a person noted, before that, that the plunger hung free; None without.

    Raises:
        TooFewSamplesError: When there is none.
        CaptureFormatError: When they hold what no gauge can send.
    """
    trace = trace_from(messages, where, 0, window_us)
    if noted_us is None:
        return trace
    stop_mm = shown_when_free(messages, where, noted_us, int(trace.t_us[0]))
    return replace(trace, free_stop_mm=stop_mm)


def shown_when_free(messages: Messages, where: str, noted_us: int, until_us: int) -> float | None:
    """Return what the indicator shows, in mm, when its plunger hangs free.

    Args:
        messages: What the board said; of the indicator at least what came from a second before
            the note on.
        where: The file, for words.
        noted_us: When a person noted that the plunger hung free, in µs of the board's clock.
        until_us: At which moment, since a zero pressed after the note changes it.

    Returns:
        None where that cannot be said; see rockhold.measure.free_stop.

    Raises:
        CaptureFormatError: When the messages hold what no gauge can send.
    """
    try:
        before = trace_from(messages, where, 0, (noted_us - NOTED_US, until_us))
    except TooFewSamplesError:
        return None
    return stop_shown(before, noted_us)


def turning_from(
    messages: Messages,
    where: str,
    window_us: tuple[int, int] | None = None,
) -> Turning | None:
    """Return the turning rate of the first motion sensor; `where` names the messages in errors.

    Raises:
        CaptureFormatError: When they hold what no sensor can send.
    """
    channels = channels_from(messages, where, (TURNING,))
    if not channels:
        return None
    # A forged window may be larger than any number that numpy compares.
    first_us, last_us = (min(at_us, LATEST_US) for at_us in window_us or (0, LATEST_US))
    t_us, rate_deg_s = channels[0].t_us, channels[0].value
    here = (t_us >= first_us) & (t_us <= last_us)
    return Turning.of(t_us[here], rate_deg_s[here]) if here.any() else None

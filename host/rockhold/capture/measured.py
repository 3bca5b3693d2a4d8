"""What the result of a capture is computed from: the indicator, and how the wheel turned."""

from collections.abc import Sequence

from rockhold.capture.channels import LATEST_US, TURNING, channels_from
from rockhold.capture.reader import Capture
from rockhold.capture.trace import frames_of, measured_window, trace_from
from rockhold.measure.hub.turning import Turning
from rockhold.measure.trace import Trace


def measured_readings(capture: Capture) -> tuple[Trace, Turning | None]:
    """Return the readings that count, and what a motion sensor saw meanwhile; None without one.

    Raises:
        NotSettledError: When a guided job measured no end play.
        RockholdError: When there is no reading of an indicator, or a record is damaged.
    """
    window_us = measured_window(capture)
    messages = [frame.message for frame in frames_of(capture)]
    where = str(capture.path)
    return trace_from(messages, where, 0, window_us), turning_from(messages, where, window_us)


def turning_from(
    messages: Sequence[tuple[object, ...] | None],
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

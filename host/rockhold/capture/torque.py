"""The torque of a capture with the pulls in it."""

from dataclasses import dataclass

from rockhold.capture.channels import TORQUE, Channel, channel_of
from rockhold.capture.reader import Capture
from rockhold.measure.torque.events import Pull
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.pulls import find_pulls


@dataclass(frozen=True, slots=True)
class TorqueTrace:
    """The readings of a torque adapter, and the pulls found in them."""

    channel: Channel
    pulls: tuple[Pull, ...]


def torque_trace_of(capture: Capture, limits: PullLimits | None = None) -> TorqueTrace | None:
    """Return the torque of a capture, None where nothing read any.

    Args:
        capture: The capture.
        limits: What counts as a pull; without it anything beyond handling.

    Raises:
        CaptureFormatError: When a record is damaged or holds what no instrument can send.
    """
    channel = channel_of(capture, TORQUE)
    if channel is None:
        return None
    return TorqueTrace(channel, find_pulls(channel.t_us, channel.value, limits or PullLimits()))

"""The torque of a capture with the pulls in it."""

from dataclasses import dataclass

from rockhold.capture.channels import TORQUE, Channel, channel_of
from rockhold.capture.reader import Capture
from rockhold.capture.tooling import TORQUE_TOOL, TRANSDUCER, tools_of
from rockhold.measure.torque.events import Pull
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.pulls import find_pulls
from rockhold.measure.torque.uncertainty import u_peak_nm

_KINDS = (TORQUE_TOOL, TRANSDUCER)


@dataclass(frozen=True, slots=True)
class TorqueTrace:
    """The readings of a torque adapter, and the pulls found in them.

    Attributes:
        channel: The readings.
        pulls: The pulls.
        mpe_percent: The tool's limit of error as the header has it, in per cent; None without.
        resolution_nm: One step of its digits, in N·m; None where the header has none.
    """

    channel: Channel
    pulls: tuple[Pull, ...]
    mpe_percent: float | None = None
    resolution_nm: float | None = None

    def rows(self) -> list[dict[str, object]]:
        """Return the pulls as plain values, with `u_nm` where the tool's limit of error is known.

        Source: JCGM 100:2008, 4.3.7; see rockhold.measure.torque.uncertainty.
        """
        limit = self.mpe_percent
        if limit is None:
            return [pull.to_json() for pull in self.pulls]
        return [
            pull.to_json() | {"u_nm": round(u_peak_nm(pull, limit, self.resolution_nm), 3)}
            for pull in self.pulls
        ]


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
    pulls = find_pulls(channel.t_us, channel.value, limits or PullLimits())
    facts = next((tool for tool in tools_of(capture) if tool.get("kind") in _KINDS), {})
    return TorqueTrace(
        channel, pulls, _positive(facts.get("mpe_percent")), _positive(facts.get("resolution_nm"))
    )


def _positive(value: object) -> float | None:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if number and isinstance(value, int | float) and 0 < value < 1e5 else None

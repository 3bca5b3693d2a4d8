"""The torque while a capture is recorded: the present reading, and each pull as it ends."""

from rockhold.capture.channels import torque_unit, values_of
from rockhold.measure.torque.events import OverTorque, Pull, PullEnded
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.pulls import PullTracker
from rockhold.measure.torque.units import shown
from rockwire import messages as m


class TorqueLive:
    """Follows the torque readings among the board's messages.

    Args:
        limits: What counts as a pull, and what is too much; without it anything beyond handling.

    Attributes:
        text: The newest reading in the adapter's own unit, "" before the first.
        pulls: The pulls so far.
    """

    def __init__(self, limits: PullLimits | None = None) -> None:
        self._tracker = PullTracker(limits or PullLimits())
        self._last_us = 0
        self.text = ""
        self.pulls: list[Pull] = []

    def __call__(self, message: m.Readings) -> list[str]:
        """Take a batch of readings and return what is worth a sentence; others give none."""
        unit = torque_unit(message)
        if unit is None:
            return []
        said: list[str] = []
        value_nm = 0.0
        for t_us, value_nm in zip(message.t_us, values_of(message), strict=True):
            for event in self._tracker.feed(max(t_us, self._last_us), value_nm):
                if isinstance(event, OverTorque):
                    said.append(
                        f"TOO MUCH: {shown(event.torque_nm, unit)}, the limit is "
                        f"{shown(event.limit_nm, unit)}. Ease off"
                    )
                elif isinstance(event, PullEnded):
                    self.pulls.append(event.pull)
                    said.append(self._sentence(event.pull, unit))
            self._last_us = max(t_us, self._last_us)
        self.text = shown(value_nm - self._tracker.zero_nm, unit)
        return said

    def _sentence(self, pull: Pull, unit: str) -> str:
        click = ", with a click" if pull.click else ""
        return f"Pull {len(self.pulls)}: peak {shown(pull.peak_nm, unit, 1)}{click}"

"""An end-play step while it goes on: the indicator followed, and then measured."""

from rockhold.capture.channels import TURNING, kind_of
from rockhold.capture.measured import readings_from, turning_from
from rockhold.capture.steps import FREE_STOP
from rockhold.errors import MeasurementError
from rockhold.guided.plunger import Plunger
from rockhold.guided.turn import advice_of, is_inside
from rockhold.live.follow import Follower
from rockhold.live.instruments import INDICATOR
from rockhold.measure.decision import UNDECIDED
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult, not_measured
from rockwire import messages as m

_LONGEST_BATCH_US = 1_000_000  # a sensor that is further behind is silent


class Measuring:
    """One attempt at an end-play step.

    Args:
        limits: What the step asks for at this wheel end.
        gauge: What is known of the indicator.
        from_us: The board's time when the attempt began.
        plunger: Where the indicator's plunger stood before.

    Attributes:
        following: What the person is shown of it.
    """

    def __init__(
        self, limits: EndPlayLimits, gauge: GaugeFacts, from_us: int, plunger: Plunger
    ) -> None:
        self._limits = limits
        self._gauge = gauge
        self._from_us = from_us
        self._noted_us = plunger.noted_us
        self._messages: list[tuple[object, ...]] = list(plunger.earlier)
        self._gauge_us = self._turning_us = from_us  # the newest reading of each
        self.following = Follower(limits)

    def feed(self, message: tuple[object, ...]) -> bool:
        """Take a message; say whether there is something new to show."""
        self._messages.append(message)
        if isinstance(message, m.Readings) and message.source == INDICATOR:
            self._gauge_us = message.t_us[-1]
        elif isinstance(message, m.Readings) and kind_of(message) == TURNING:
            self._turning_us = message.t_us[-1]
        return self.following.take(message)

    def _seen_to_us(self) -> int:
        """Return up to when every reading that counts has come.

        A torque adapter's readings may be newer than the gauge's, which come in batches: a window
        that ends at the newest of all would take in readings that nobody had seen, and the sealed
        number would not be the one that was shown.
        """
        behind_us = self._gauge_us - self._turning_us
        late = 0 < behind_us < _LONGEST_BATCH_US
        return self._turning_us if late else self._gauge_us

    def measured(self) -> tuple[EndPlayResult, dict[str, object]]:
        """Return the result of what came up to now, and what belongs into the step's line."""
        to_us = self._seen_to_us()
        try:
            window_us = (self._from_us, to_us)
            trace = readings_from(self._messages, "this attempt", window_us, self._noted_us)
            turning = turning_from(self._messages, "this attempt", window_us)
            result = measure_trace(trace, self._limits, self._gauge, turning)
        except MeasurementError as error:
            result = not_measured(str(error))
        times: dict[str, object] = {"from_us": self._from_us, "to_us": to_us}
        if self._noted_us is not None:
            times[FREE_STOP] = self._noted_us
        return result, {**times, **self._values(result)}

    def _values(self, result: EndPlayResult) -> dict[str, object]:
        row = result.to_json()
        values: dict[str, object] = {
            "end_play_mm": row["end_play_mm"],
            "expanded_mm": row["expanded_mm"],
            "verdict": row["verdict"],
            "findings": sorted({str(found.code) for found in result.findings}),
        }
        if result.verdict == UNDECIDED and is_inside(result):
            values["inside_limits"] = True  # what forbids accepting it is not the nut
        advice = advice_of(result, self._limits.threads_per_inch)
        return values if advice is None else {**values, "advice": advice}

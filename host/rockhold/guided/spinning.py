"""A spin step: what the person answers, and what the motion sensor on the hub sees of it."""

import numpy as np

from rockhold.capture.channels import KNOCK, TURNING, kind_of, values_of
from rockhold.errors import TooFewSamplesError
from rockhold.measure.hub.spin import Knocks, SpinFound, check_spin
from rockhold.measure.hub.turning import Turning
from rockwire import messages as m

ASKED = ("smooth", "quiet", "free")


class Spinning:
    """One attempt at a spin step.

    Args:
        from_us: The board's time when the step began.

    Attributes:
        said: What the sensor saw, to be told; "" for nothing.
    """

    def __init__(self, from_us: int) -> None:
        self._answered = 0  # with yes
        self._told = False
        self.said = ""
        self._from_us = from_us
        self._to_us = from_us
        self._rates: list[tuple[int, float]] = []
        self._knocks: list[tuple[int, float]] = []

    @property
    def asks(self) -> str:
        """What the person is asked now: one of ASKED."""
        return ASKED[self._answered]

    def say_yes(self) -> bool:
        """Take a yes; say whether it was the last."""
        if self._answered + 1 < len(ASKED):
            self._answered += 1
            return False
        noticed = self._noticed()
        if noticed and not self._told:
            # Whoever felt nothing hears what the sensor saw before the last answer counts.
            self._told = True
            self.said = f"The sensor on the hub: {noticed} Spin it again; is it free all the same?"
            return False
        self._answered += 1
        return True

    def values(self) -> dict[str, object]:
        """Return what belongs into the step's line; the question that is open is answered no."""
        found = self._found()
        answers = {name: at < self._answered for at, name in enumerate(ASKED[: self._answered + 1])}
        return {**answers, "measured": found.to_json() if found is not None else None}

    def _noticed(self) -> str:
        found = self._found()
        return " ".join(one.text for one in found.findings) if found is not None else ""

    def feed(self, message: tuple[object, ...]) -> None:
        """Take what the board sends; other readings than the sensor's are left alone."""
        if not isinstance(message, m.Readings):
            return
        rows = {TURNING: self._rates, KNOCK: self._knocks}.get(kind_of(message) or "")
        if rows is None:
            return
        for t_us, value in zip(message.t_us, values_of(message), strict=True):
            if t_us >= self._from_us:
                rows.append((t_us, value))
                self._to_us = max(self._to_us, t_us)

    def _found(self) -> SpinFound | None:
        """Return how the wheel ran down; None without a sensor, or while it was not spun."""
        if len(self._rates) < 2:
            return None
        t_us, rates = zip(*self._rates, strict=True)
        turning = Turning.of(np.array(t_us, dtype=np.int64), np.array(rates))
        knocks = None
        if self._knocks:
            at_us, sizes = zip(*self._knocks, strict=True)
            knocks = Knocks(np.array(at_us) * 1e-6, np.array(sizes))
        try:
            return check_spin(turning, knocks, self._from_us, self._to_us)
        except TooFewSamplesError:
            return None

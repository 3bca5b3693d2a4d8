"""The click of a setting-type wrench: the torque drops for a moment and comes back.

    rising → a high → falls by a share of it within a moment → comes back a little → click

Source of the shares and times: the simulator's wrench and common practice; no published figure.
"""

DROP = 0.04  # of the high
BACK = 0.02
DROP_US = 60_000
BACK_US = 150_000
LEFT = 0.4  # of the high must be left in the drop, else the wrench is being relaxed
SLOWEST_US = 25_000  # at a wider spacing the drop may lie between two readings
MOST = 2  # more drops in one pull are a nut that sticks and slips
NEAR_PEAK = 0.85


class ClickWatch:
    """Looks for the click in one pull."""

    def __init__(self) -> None:
        self._high = 0.0
        self._high_us = 0
        self._low: float | None = None
        self._found: list[float] = []

    def feed(self, t_us: int, torque_nm: float) -> tuple[int, float] | None:
        """Take a reading; return time and torque of a click that it completes."""
        if torque_nm >= self._high:
            self._high, self._high_us, self._low = torque_nm, t_us, None
            return None
        since_us = t_us - self._high_us
        if self._low is None:
            if since_us > DROP_US:
                self._high, self._high_us = torque_nm, t_us
            elif torque_nm < (1 - DROP) * self._high:
                self._low = torque_nm
            return None
        self._low = min(self._low, torque_nm)
        if since_us > BACK_US or self._low < LEFT * self._high:
            self._high, self._high_us, self._low = torque_nm, t_us, None
        elif torque_nm > self._low + BACK * self._high:
            found = (self._high_us, self._high)
            self._found.append(self._high)
            self._high, self._high_us, self._low = torque_nm, t_us, None
            return found
        return None

    def verdict(self, peak_nm: float, spacing_us: float) -> bool | None:
        """Return whether the pull has a click; None where readings are too far apart to say."""
        if spacing_us > SLOWEST_US:
            return None
        near = [high for high in self._found if high >= NEAR_PEAK * peak_nm]
        return 1 <= len(near) <= MOST

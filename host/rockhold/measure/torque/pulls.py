"""Finds pulls in a stream of torque readings, one reading at a time or all at once.

    at rest --above start--> perhaps a pull --long and high enough--> pull --relaxed--> at rest

`PullTracker` follows a live stream; `find_pulls` gives the same pulls from a whole recording, and
faster, because it passes over blocks in which nothing happens. Readings may come at any spacing:
every rule is in seconds.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.torque.click import ClickWatch
from rockhold.measure.torque.events import (
    ClickSeen,
    Event,
    OverTorque,
    PeakSeen,
    Pull,
    PullEnded,
    PullStarted,
)
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.loading import loading_s
from rockhold.measure.torque.peak import highest
from rockhold.measure.torque.rest import BLOCK_US, Rest

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_FALLEN = 0.9  # of the highest reading
_SLOW_US = 50_000  # at a wider spacing one reading above the limit is enough for a warning


class _Going:
    """A pull while it goes on."""

    def __init__(self, start_us: int) -> None:
        self.start_us = start_us
        self.t_us: list[int] = []
        self.torque_nm: list[float] = []
        self.peak_nm = 0.0
        self.peak_us = 0
        self.above = 0  # readings above the start
        self.last_above_us = start_us
        self.started = self.over = self.fallen = False
        self.click = ClickWatch()


class PullTracker:
    """Follows a stream of torque readings.

    Args:
        limits: What counts as a pull.
        zero_nm: What the adapter shows at rest, where another tracker found it out already.
    """

    def __init__(self, limits: PullLimits, zero_nm: float | None = None) -> None:
        self._limits = limits
        self._rest = Rest(limits, zero_nm)
        self._going: _Going | None = None
        self._before: tuple[int, float] | None = None  # the reading before, above rest

    @property
    def zero_nm(self) -> float:
        """What the adapter shows at rest, in N·m."""
        return self._rest.zero_nm

    @property
    def going_nm(self) -> float | None:
        """Highest reading of the pull that is going on, in N·m; None at rest."""
        going = self._going
        return going.peak_nm if going is not None and going.started else None

    def feed(self, t_us: int, torque_nm: float) -> list[Event]:
        """Take a reading and return what it tells.

        Args:
            t_us: Its time, never before the last one's.
            torque_nm: What the adapter shows, in N·m.
        """
        events = self._open_block(t_us)
        self._rest.add(torque_nm)
        value = torque_nm - self._rest.zero_nm
        # No adapter shows so much at rest: a pull right at the begin is seen, too.
        if self._rest.known or self._going or value > self._limits.rest_nm:
            events += self._follow(t_us, value)
        self._before = (t_us, value)
        return events

    def finish(self) -> list[Event]:
        """Return the end of a pull that is still going on when the stream ends."""
        return self._end(self._going.last_above_us) if self._going else []

    def feed_block(self, t_us: list[int], torque_nm: list[float]) -> list[Event]:
        """Take the readings of one block of Rest; the same as `feed` for each."""
        events = self._open_block(t_us[0])
        highest_nm = max(torque_nm) - self._rest.zero_nm
        if self._going is None and self._rest.known and highest_nm <= self._limits.start_nm:
            self._rest.extend(torque_nm)
            self._before = (t_us[-1], torque_nm[-1] - self._rest.zero_nm)
            return events
        for time_us, torque in zip(t_us, torque_nm, strict=True):
            events += self.feed(time_us, torque)
        return events

    def _open_block(self, t_us: int) -> list[Event]:
        going = self._going
        zero_nm = self._rest.zero_nm
        if not self._rest.begin(t_us, None if going is None else going.peak_nm):
            return []
        if going is None:
            return []
        self._cut_rest(going, zero_nm)
        return self._end(going.last_above_us)

    def _cut_rest(self, going: _Going, zero_nm: float) -> None:
        """Take off the end of a pull the readings that turned out to be rest."""
        floor = self._rest.zero_nm - zero_nm + self._limits.quiet_nm
        while len(going.t_us) > 1 and going.torque_nm[-1] <= floor:
            going.t_us.pop()
            going.torque_nm.pop()
        going.last_above_us = going.t_us[-1]

    def _follow(self, t_us: int, value: float) -> list[Event]:
        going = self._going
        if going is None:
            if value <= self._limits.start_nm:
                return []
            going = self._going = self._begin(t_us, value)
        self._take(going, t_us, value)
        if value < self._limits.quiet_nm:
            if t_us - going.last_above_us >= self._limits.relaxed_s * 1e6:
                return self._end(t_us)
            return []
        going.last_above_us = t_us
        return self._tell(going, t_us, value)

    def _begin(self, t_us: int, value: float) -> _Going:
        going = _Going(t_us)
        if self._before is not None:
            before_us, before = self._before
            if before < self._limits.start_nm:
                share = (self._limits.start_nm - before) / (value - before)
                going.start_us = before_us + round(share * (t_us - before_us))
            going.t_us.append(before_us)
            going.torque_nm.append(before)
        return going

    def _take(self, going: _Going, t_us: int, value: float) -> None:
        going.t_us.append(t_us)
        going.torque_nm.append(value)
        going.above += value > self._limits.start_nm
        if value > going.peak_nm:
            going.peak_nm, going.peak_us, going.fallen = value, t_us, False

    def _tell(self, going: _Going, t_us: int, value: float) -> list[Event]:
        events: list[Event] = []
        click = going.click.feed(t_us, value)
        if not going.started:
            if not self._is_pull(going, t_us):
                return []
            going.started = True
            events.append(PullStarted(going.start_us))
        if not going.over and self._is_over(going):
            going.over = True
            assert self._limits.over_nm is not None
            events.append(OverTorque(t_us, value, self._limits.over_nm))
        if click is not None:
            events.append(ClickSeen(*click))
        if not going.fallen and value < _FALLEN * going.peak_nm:
            going.fallen = True
            events.append(PeakSeen(going.peak_us, going.peak_nm))
        return events

    def _is_pull(self, going: _Going, t_us: int) -> bool:
        limits = self._limits
        long_enough = t_us - going.start_us >= limits.shortest_s * 1e6
        return long_enough and going.above > 1 and going.peak_nm >= limits.least_nm

    def _is_over(self, going: _Going) -> bool:
        limit = self._limits.over_nm
        if limit is None or going.torque_nm[-1] <= limit:
            return False
        # A single wild reading among close ones is no torque.
        slow = going.t_us[-1] - going.t_us[-2] >= _SLOW_US
        return slow or going.torque_nm[-2] > limit

    def _end(self, t_us: int) -> list[Event]:
        going, self._going = self._going, None
        assert going is not None
        if not going.started and not self._is_pull(going, t_us):
            return []
        events: list[Event] = [] if going.started else [PullStarted(going.start_us)]
        if not going.fallen:
            events.append(PeakSeen(going.peak_us, going.peak_nm))
        return [*events, PullEnded(self._pull(going))]

    def _pull(self, going: _Going) -> Pull:
        t_s = np.array(going.t_us, dtype=np.float64) / 1e6
        torque = np.array(going.torque_nm)
        top = highest(t_s, torque, self._rest.scatter_nm)
        spacing_us = float(np.median(np.diff(t_s))) * 1e6 if len(t_s) > 1 else float(BLOCK_US)
        return Pull(
            going.start_us,
            round(top.t_s * 1e6),
            going.last_above_us,
            top.torque_nm,
            top.hidden_nm,
            self._rest.zero_nm,
            self._rest.scatter_nm,
            going.click.verdict(going.peak_nm, spacing_us),
            loading_s(t_s, torque, top.torque_nm, self._limits.target_nm),
            len(going.t_us),
        )


def find_pulls(t_us: Ints, torque_nm: Floats, limits: PullLimits) -> tuple[Pull, ...]:
    """Return the pulls in a recording, the same as PullTracker finds.

    Args:
        t_us: Time of each reading, in µs; never goes back.
        torque_nm: What the adapter shows, in N·m.
        limits: What counts as a pull.
    """
    return tuple(
        event.pull for event in pull_events(t_us, torque_nm, limits) if isinstance(event, PullEnded)
    )


def pull_events(t_us: Ints, torque_nm: Floats, limits: PullLimits) -> Iterator[Event]:
    """Yield what PullTracker tells about a recording; see `find_pulls`."""
    tracker = PullTracker(limits)
    ends = np.append(np.flatnonzero(np.diff(t_us // BLOCK_US)) + 1, len(t_us))
    first = 0
    for end in ends.tolist():
        if end > first:
            yield from tracker.feed_block(t_us[first:end].tolist(), torque_nm[first:end].tolist())
        first = end
    yield from tracker.finish()

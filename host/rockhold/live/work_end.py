"""Notes in a capture when the asked holds were all done: what the wheel does later is a wait."""

from collections.abc import Callable, Mapping

from rockhold.capture.work import GOES_ON, WORK_DONE
from rockhold.live.follow import Follower

_WAITED_US = 1_000_000


Enter = Callable[[Mapping[str, object]], None]


class WorkEnd:
    """Writes the notes.

    Args:
        follower: What follows the indicator.
    """

    def __init__(self, follower: Follower) -> None:
        self._follower = follower
        self._told_us: int | None = None
        self._enter: Enter | None = None

    def opened(self, enter: Enter, goes_on: bool) -> None:
        """Take the function that writes a line into the capture, which may have an end already."""
        self._enter = enter
        if goes_on:
            enter({"note": GOES_ON})

    def look(self, now_us: int) -> None:
        """Write that the work is done, once the wheel was waited with; or that it goes on."""
        done_us = self._follower.worked_to_us
        if self._enter is None or done_us == self._told_us:
            return
        if self._told_us is not None:
            self._told_us = None
            self._enter({"note": GOES_ON, "board_us": now_us})
        elif done_us is not None and now_us >= done_us + _WAITED_US:
            self._told_us = done_us
            self._enter({"note": WORK_DONE, "board_us": done_us})

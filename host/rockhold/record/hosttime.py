"""The host's clocks, in one place so that a test can put its own in."""

import time
from typing import Protocol


class HostTime(Protocol):
    """What recording needs to know of time."""

    def steady_us(self) -> int:
        """Return a time that never jumps, in µs from any origin."""

    def utc_us(self) -> int:
        """Return the computer's idea of UTC, in µs since 1970; it may jump."""

    def pause(self, seconds: float) -> None:
        """Let time pass."""


class ComputerTime:
    """The computer's own clocks."""

    def steady_us(self) -> int:
        """Return the monotonic clock, in µs."""
        return time.monotonic_ns() // 1000

    def utc_us(self) -> int:
        """Return the wall clock, in µs since 1970 UTC."""
        return time.time_ns() // 1000

    def pause(self, seconds: float) -> None:
        """Sleep."""
        time.sleep(seconds)

"""What a link is."""

from typing import Protocol


class Link(Protocol):
    """A way to a board that moves bytes and nothing else.

    Every method raises LinkLostError when the board or the way to it has gone.
    """

    name: str

    def read(self, wait_s: float) -> bytes:
        """Return what has come; wait at most `wait_s` seconds for the first byte."""

    def write(self, data: bytes) -> None:
        """Send bytes."""

    def close(self) -> None:
        """Let go of the way; never raises."""

"""What a link is."""

from typing import Protocol


class Guarding(Protocol):
    """What a host needs on a link that strangers can reach: radio.

    Until it has met the board it lets every message pass as it is.
    """

    def meet(self, board_id: bytes) -> None:
        """Take the key that belongs to the board at the other end.

        Raises:
            NoBoardError: When there is none here.
        """

    def wrap(self, message: tuple[object, ...]) -> tuple[object, ...]:
        """Return a command as it must be sent."""

    def learn(self, stale: tuple[object, ...]) -> None:
        """Take the board's word that it is further than this host's counter."""


class Link(Protocol):
    """A way to a board that moves bytes and nothing else.

    Every method raises LinkLostError when the board or the way to it has gone.

    Attributes:
        name: Shown to people.
        guard: What commands need on this link; None for a cable.
    """

    @property
    def name(self) -> str:
        """Return what people know it by."""

    @property
    def guard(self) -> Guarding | None:
        """Return what commands need on this link; None for a cable."""

    def read(self, wait_s: float) -> bytes:
        """Return what has come; wait at most `wait_s` seconds for the first byte."""

    def write(self, data: bytes) -> None:
        """Send bytes."""

    def close(self) -> None:
        """Let go of the way; never raises."""

"""The host's side of the numbering: each record once, in order, and of the right history."""

from . import frames
from .chain import Chain

TAKE = "take"  # the record that was wanted: store it, then acknowledge
REPEAT = "repeat"  # known already: acknowledge again, store nothing
GAP = "gap"  # one before it is missing: ask for it
STRANGE = "strange"  # right number, but not the history that this host holds


class Receiver:
    """Decides what to do with each record.

    Args:
        nonce: The capture's nonce; it starts the chain.
    """

    def __init__(self, nonce: bytes) -> None:
        self.nonce = nonce
        self.chain = Chain(nonce)

    @property
    def next_number(self) -> int:
        """The number of the record that is wanted next."""
        return self.chain.count

    def judge(self, frame: frames.Frame) -> str:
        """Return TAKE, REPEAT, GAP or STRANGE; changes nothing."""
        if frame.number < self.chain.count:
            return REPEAT
        if frame.number > self.chain.count:
            return GAP
        head = self.chain.preview(frames.body_of(frame.packet))
        return TAKE if head[: frames.TAG_SIZE] == frame.tag else STRANGE

    def take(self, frame: frames.Frame) -> None:
        """Count a record that is now stored."""
        self.chain.extend(frames.body_of(frame.packet))

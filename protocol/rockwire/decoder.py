"""From bytes on the line to frames: feed what came, take what it says.

Any bytes may come, in any split. Damage is an event and the next delimiter starts afresh;
no input raises. Memory is bounded by the longest frame.
"""

from collections import namedtuple

from . import cobs, frames
from .errors import FrameError

# Damage on the line.
#
# reason: "long", "short", "cobs", "crc", "version", "varint" or "payload".
# skipped: how many bytes were given up, delimiter not counted.
Rejected = namedtuple("Rejected", "reason skipped")


class Decoder:
    """Cuts a stream of bytes into frames.

    Empty stretches between delimiters are not damage: a sender may put a delimiter first, so
    that rubbish before it does not spoil its frame.
    """

    def __init__(self) -> None:
        self._part = bytearray()
        self._too_long = 0  # bytes given up since the last delimiter, 0 when all is well

    def feed(self, data: bytes) -> list:
        """Take bytes and return the events that they complete: Frame or Rejected."""
        events = []
        pieces = bytes(data).split(b"\x00")
        last = pieces.pop()
        for piece in pieces:
            self._keep(piece)
            event = self._finish()
            if event is not None:
                events.append(event)
        self._keep(last)
        return events

    def _keep(self, piece: bytes) -> None:
        if self._too_long or len(self._part) + len(piece) >= frames.LONGEST_LINE:
            self._too_long += len(self._part) + len(piece)
            self._part = bytearray()
        else:
            self._part += piece

    def _finish(self) -> tuple | None:
        line = bytes(self._part)
        skipped = self._too_long
        self._part = bytearray()
        self._too_long = 0
        if skipped:
            return Rejected("long", skipped)
        if not line:
            return None
        try:
            return frames.unpack(cobs.decode(line))
        except FrameError as error:
            return Rejected(error.reason, len(line))

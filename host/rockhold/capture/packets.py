"""Packets of a capture, decoded once though several steps look at them."""

from functools import lru_cache

from rockwire import frames
from rockwire.errors import FrameError

_REMEMBERED = 4096  # packets; some megabytes, an hour of a gauge


@lru_cache(maxsize=_REMEMBERED)
def unpacked(packet: bytes) -> frames.Frame:
    """Return the frame that a packet holds.

    Raises:
        FrameError: When it is damaged.
    """
    return frames.unpack(packet)


_FAULTS = {
    "crc": "its check value (CRC) does not fit its bytes",
    "cobs": "its framing is broken",
    "version": "it is of another version of the wire",
    "short": "it is too short",
    "long": "it is too long",
}


def fault_of(error: FrameError) -> str:
    """Say what is wrong with a packet, for a person."""
    return _FAULTS.get(error.reason, f"its content is not right at byte {error.offset}")

"""Packets of a capture, decoded once though several steps look at them."""

from functools import lru_cache

from rockwire import frames

_REMEMBERED = 4096  # packets; some megabytes, an hour of a gauge


@lru_cache(maxsize=_REMEMBERED)
def unpacked(packet: bytes) -> frames.Frame:
    """Return the frame that a packet holds.

    Raises:
        FrameError: When it is damaged.
    """
    return frames.unpack(packet)

"""Consistent overhead byte stuffing: a frame without zero bytes, so that a zero can end it.

Source: S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on
Networking 7 (1999) 159.
"""

from .errors import FrameError

_LONGEST_RUN = 254  # a code byte of 255 stands for 254 bytes with no zero after them


def encode(data: bytes) -> bytes:
    """Return data without zero bytes; the delimiting zero is not added."""
    out = bytearray()
    runs = bytes(data).split(b"\x00")
    last = runs.pop()
    for run in runs:
        # A zero follows: a full block says nothing of a zero, so a shorter one must end the run.
        _put_run(out, run, _LONGEST_RUN)
    _put_run(out, last, _LONGEST_RUN + 1)
    return bytes(out)


def _put_run(out: bytearray, run: bytes, full_from: int) -> None:
    while len(run) >= full_from:
        out.append(_LONGEST_RUN + 1)
        out += run[:_LONGEST_RUN]
        run = run[_LONGEST_RUN:]
    out.append(len(run) + 1)
    out += run


def decode(data: bytes) -> bytes:
    """Return what `encode` was given.

    Args:
        data: The stuffed bytes, without the delimiting zero.

    Raises:
        FrameError: "cobs" when a zero stands inside or a run is longer than the data.
    """
    out = bytearray()
    at = 0
    size = len(data)
    while at < size:
        code = data[at]
        end = at + code
        if not code or end > size:
            raise FrameError("cobs", at)
        run = data[at + 1 : end]
        if 0 in run:
            raise FrameError("cobs", at + 1 + run.find(b"\x00"))
        out += run
        if code <= _LONGEST_RUN and end < size:
            out.append(0)
        at = end
    return bytes(out)

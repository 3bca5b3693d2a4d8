"""Errors of the wire.

ProtocolError                 anything about the wire
└ FrameError                  bytes that are not a frame, or a frame whose payload is not right

Line damage in a live stream is never an exception: the decoder reports it as an event.
"""


class ProtocolError(Exception):
    """Base of the wire's errors."""


class FrameError(ProtocolError):
    """Report bytes that are not what the specification asks for.

    Attributes:
        reason: One word that a program can compare, for example "crc".
        offset: Position of the first wrong byte, or 0 where it is the whole.
    """

    def __init__(self, reason: str, offset: int = 0) -> None:
        super().__init__("%s at byte %d" % (reason, offset))
        self.reason = reason
        self.offset = offset

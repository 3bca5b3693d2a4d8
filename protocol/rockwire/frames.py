"""Frames: the envelope around every message on the line.

    packet = version, type, [number u32], payload, [tag 4 bytes], CRC-16 (little-endian)
    line   = COBS(packet), 0x00

Number and tag are there for records (types from 0x80 on). The longest frame, with its delimiter,
fits one BLE notification at an ATT MTU of 185.
"""

import struct
from collections import namedtuple

from . import cobs, wire
from .crc import crc16
from .errors import FrameError
from .messages import PROTOCOL_VERSION

LONGEST_LINE = 182  # bytes of one notification at MTU 185 (three bytes are ATT's own)
LONGEST_PACKET = LONGEST_LINE - 2  # less the COBS code byte and the delimiter
TAG_SIZE = 4
CRC_SIZE = 2
_HEAD = 2
_RECORD_HEAD = 6
LONGEST_RECORD_PAYLOAD = LONGEST_PACKET - _RECORD_HEAD - TAG_SIZE - CRC_SIZE

# One good frame.
#
# type: type number. number: place in the capture, None for commands and answers.
# message: what it says, None when the type is not known here. tag: the first bytes of the chain
# after this record, None for commands and answers. packet: the bytes as they came, CRC included.
Frame = namedtuple("Frame", "type number message tag packet")


def pack(message: tuple) -> bytes:
    """Return the packet of a command or an answer."""
    return _close(bytes((PROTOCOL_VERSION, wire.type_of(message))) + wire.encode(message))


def record_body(message: tuple, number: int) -> bytes:
    """Return the bytes of a record that the chain runs over: version to payload."""
    head = struct.pack("<BBI", PROTOCOL_VERSION, wire.type_of(message), number)
    return head + wire.encode(message)


def pack_record(body: bytes, tag: bytes) -> bytes:
    """Return the packet of a record from its body and its chain tag."""
    return _close(body + tag)


def body_of(packet: bytes) -> bytes:
    """Return the part of a record's packet that the chain runs over."""
    return packet[: -TAG_SIZE - CRC_SIZE]


def unpack(packet: bytes) -> Frame:
    """Return the frame that a packet holds.

    Raises:
        FrameError: "long", "short", "crc", "version" or "payload".
    """
    if len(packet) > LONGEST_PACKET:
        raise FrameError("long", LONGEST_PACKET)
    if len(packet) < _HEAD + CRC_SIZE:
        raise FrameError("short", len(packet))
    end = len(packet) - CRC_SIZE
    if struct.unpack("<H", packet[end:])[0] != crc16(packet[:end]):
        raise FrameError("crc", end)
    if packet[0] != PROTOCOL_VERSION:
        raise FrameError("version", 0)
    kind = packet[1]
    if kind < wire.FIRST_RECORD:
        return Frame(kind, None, wire.decode(kind, packet[_HEAD:end]), None, packet)
    if end < _RECORD_HEAD + TAG_SIZE:
        raise FrameError("short", len(packet))
    number = struct.unpack("<I", packet[_HEAD:_RECORD_HEAD])[0]
    message = wire.decode(kind, packet[_RECORD_HEAD : end - TAG_SIZE])
    return Frame(kind, number, message, packet[end - TAG_SIZE : end], packet)


def to_line(packet: bytes) -> bytes:
    """Return a packet as it goes on the line, delimiter included."""
    return cobs.encode(packet) + b"\x00"


def _close(body: bytes) -> bytes:
    return body + struct.pack("<H", crc16(body))

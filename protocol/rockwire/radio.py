"""What a board says of itself over radio to everybody: protocol/README.md, 1.9.

    advertisement  flags, then service data of our own 128-bit UUID: state, battery, board id
    scan response  the name

Each fits the 31 bytes of a legacy advertisement, which every host can hear.
"""

from binascii import unhexlify
from collections import namedtuple

# The service, and its two characteristics: board to host by notification, host to board by write.
SERVICE = "6b286dbf-d131-4428-88e2-981a4b751ea6"
TO_HOST = "6b286dc0-d131-4428-88e2-981a4b751ea6"
TO_BOARD = "6b286dc1-d131-4428-88e2-981a4b751ea6"

VERSION = 1
_RECORDING = 1  # bits of the state
_TAKEN = 2

_FLAGS = 0x01
_SERVICE_DATA_128 = 0x21
_COMPLETE_NAME = 0x09
_LE_ONLY = 0x06  # general discoverable, no classic radio
_BATTERY_STEP_MV = 20
_SIZE = 10

Facts = namedtuple("Facts", "board_id recording taken battery_mv")


def pack(facts: Facts) -> bytes:
    """Return the service data: 10 bytes."""
    state = VERSION << 4 | _RECORDING * bool(facts.recording) | _TAKEN * bool(facts.taken)
    return bytes((state, min(facts.battery_mv // _BATTERY_STEP_MV, 255))) + facts.board_id


def unpack(data: bytes) -> Facts | None:
    """Return the facts in service data, None when they are not of this version."""
    if len(data) != _SIZE or data[0] >> 4 != VERSION:
        return None
    state = data[0]
    return Facts(
        bytes(data[2:]),
        bool(state & _RECORDING),
        bool(state & _TAKEN),
        data[1] * _BATTERY_STEP_MV,
    )


def advertisement(facts: Facts) -> bytes:
    """Return the advertisement: 31 bytes."""
    uuid = unhexlify(SERVICE.replace("-", ""))
    uuid = bytes([uuid[-1 - at] for at in range(16)])  # the least significant byte first
    return _part(_FLAGS, bytes((_LE_ONLY,))) + _part(_SERVICE_DATA_128, uuid + pack(facts))


def response(name: str) -> bytes:
    """Return the scan response."""
    return _part(_COMPLETE_NAME, name.encode()[:24])


def _part(kind: int, content: bytes) -> bytes:
    return bytes((len(content) + 1, kind)) + content

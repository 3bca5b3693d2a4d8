"""The radio of the board on a computer: what MicroPython's `bluetooth` does, over a socket.

At the socket's other end is a Bluetooth stack that belongs to somebody else. A message is kind
(u8), connection (u16), size (u16) and as many bytes. To the stack:

    0 services: three UUIDs as text    1 advertise: connectable (u8), size (u8), data, scan response
    2 notify    3 disconnect    4 ask for the MTU    5 the MTU preferred (u16)

From it:

    0 connected    1 disconnected    2 written    3 MTU (u16)    4 a notification has left

It has room for a few notifications and refuses more, like the stack of a chip.
"""

import socket
import struct

_HEAD = "<BHH"
_HEAD_SIZE = 5
_ROOM = 8  # notifications
_ENOMEM = 12
_OUT, _IN = 9, 12  # handles

_EVENTS = (1, 2, 3, 21)  # numbers of bluetooth's events, by kind
_WRITTEN, _MTU, _LEFT = 2, 3, 4


class UnixBluetooth:
    """Stands for the module and for its one BLE object.

    Args:
        path: Of the socket.
    """

    def __init__(self, path: str) -> None:
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.connect(struct.pack("H", socket.AF_UNIX) + path.encode())
        self._part = b""
        self._handler = None
        self._waiting = 0
        self._value = b""

    def BLE(self):  # noqa: N802 (bluetooth's own name)
        """Return the one object."""
        return self

    def UUID(self, text: str) -> str:  # noqa: N802
        """Return a UUID."""
        return text

    def active(self, on: bool) -> bool:
        """Switch the radio on."""
        return on

    def config(self, mtu: int, gap_name: str) -> None:
        """Take settings."""
        self._tell(5, 0, struct.pack("<H", mtu))

    def irq(self, handler) -> None:
        """Say who is told of events."""
        self._handler = handler

    def gatts_register_services(self, services):
        """Register our one service."""
        ((service, ((to_host, _), (to_board, _))),) = services
        self._tell(0, 0, " ".join((service, to_host, to_board)).encode())
        return ((_OUT, _IN),)

    def gatts_set_buffer(self, handle: int, size: int, append: bool) -> None:
        """Make room for what is written."""

    def gatts_read(self, handle: int) -> bytes:
        """Return what was written, once."""
        value, self._value = self._value, b""
        return value

    def gatts_notify(self, connection: int, handle: int, data: bytes) -> None:
        """Queue a notification."""
        if self._waiting >= _ROOM:
            raise OSError(_ENOMEM)
        self._waiting += 1
        self._tell(2, connection, data)

    def gap_advertise(self, interval_us: int, adv_data, resp_data, connectable: bool) -> None:
        """Advertise."""
        self._tell(1, 0, bytes((connectable, len(adv_data))) + adv_data + resp_data)

    def gap_disconnect(self, connection: int) -> bool:
        """End a connection."""
        self._tell(3, connection, b"")
        return True

    def gattc_exchange_mtu(self, connection: int) -> None:
        """Ask the host for a larger MTU."""
        self._tell(4, connection, b"")

    def _tell(self, kind: int, connection: int, data: bytes) -> None:
        self._socket.setblocking(True)
        self._socket.write(struct.pack(_HEAD, kind, connection, len(data)) + data)

    def pump(self) -> None:
        """Hand on what came: where a chip has its interrupt."""
        self._socket.setblocking(False)
        try:
            data = self._part + (self._socket.recv(2048) or b"")
        except OSError:
            return
        at = 0
        while len(data) - at >= _HEAD_SIZE:
            kind, connection, size = struct.unpack(_HEAD, data[at : at + _HEAD_SIZE])
            if len(data) - at - _HEAD_SIZE < size:
                break
            at += _HEAD_SIZE
            self._sort(kind, connection, data[at : at + size])
            at += size
        self._part = data[at:]

    def _sort(self, kind: int, connection: int, data: bytes) -> None:
        if kind == _LEFT:
            self._waiting -= 1
        elif kind == _WRITTEN:
            self._value += data
            self._handler(_EVENTS[kind], (connection, _IN))
        elif kind == _MTU:
            self._handler(_EVENTS[kind], (connection, struct.unpack("<H", data)[0]))
        else:
            self._handler(_EVENTS[kind], (connection, 0, bytes(6)))

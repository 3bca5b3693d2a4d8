"""The board on a computer: MicroPython's Unix port, a pseudo-terminal for the link, and a socket
that brings what pins and buses would.

    micropython unix.py SOCKET NAME SECRET_FILE FOLDER [RADIO SEATS] < pseudo-terminal

The terminal is open for reading and writing and does not block. FOLDER stands for the flash, with
settings and captures, "" for a board that has none; SECRET_FILE is where the key lies, "" for a
board that was not set up and does not sign; RADIO is the socket of a Bluetooth stack
(unix_radio.py) that holds so many SEATS. The socket carries 13-byte
records: time in µs (u64), kind (u8), value (u32). The times are the board's clock, so that a
recording made elsewhere keeps its own. Kinds:

    0 edge: bit 0 data, bit 1 clock     1 the button was held for so many ms    2 only the time
    3 a byte of the text line           4 a word of the bridge converter
    5 a sample of the motion sensor: turning rate (low half) and acceleration   6 battery in mV
"""

import gc
import sys

import micropython

# First of all, while the heap is one piece; and collect often, so that what compiling the modules
# leaves behind does not scatter them over the whole heap. With a flash the ring need not be large.
RECORD_RING = bytearray((8 if sys.argv[4:5] > [""] else 16) * 1024)
gc.threshold(4096)
micropython.opt_level(3)

# ruff: noqa: E402
import select
import socket
import struct

from rockboard.boards.pins import pins_of
from rockboard.build import build
from rockboard.clock import WideClock
from rockboard.edge_ring import EdgeRing

_RECORD = "<QBI"
_RECORD_SIZE = 13
EDGE, BUTTON, TIME, BYTE, WORD, SAMPLE, BATTERY = range(7)


class TerminalLink:
    """The link on an open file descriptor that does not block."""

    guard = None  # a cable

    def __init__(self, descriptor: int) -> None:
        self._port = open(descriptor, "r+b", 0)
        self._poll = select.poll()
        self._poll.register(self._port, select.POLLIN)

    def read(self) -> bytes:
        """Return what has come, b"" when nothing has."""
        if not self._poll.poll(0):
            return b""
        try:
            return self._port.read(256) or b""
        except OSError:
            return b""  # the other end of the terminal is closed; it may come back

    def write(self, data: bytes) -> int:
        """Send what fits and return how much that was."""
        try:
            return self._port.write(data) or 0
        except OSError:
            return 0


class _EdgeFeed:
    """Moves edges from the ring to their source."""

    def __init__(self, ports, source) -> None:
        self._ports = ports
        self._source = source

    def drain(self) -> None:
        """Hand on what came."""
        self._ports.ring.drain(self._ports.clock, self._source)


class _Listener:
    """Moves values of one kind to their source."""

    def __init__(self, ports, kind: int, take) -> None:
        ports.listeners[kind] = take

    def drain(self) -> None:
        """Nothing waits here."""


class _Bus:
    """An I2C bus; the motion sensor is there once it has sent a sample."""

    def __init__(self) -> None:
        self._queue = b""
        self._there = False

    def sample(self, value: int, t_us: int) -> None:
        """Put a sample into the sensor's queue."""
        self._there = True
        turn, knock = value & 0xFFFF, value >> 16
        self._queue += struct.pack(">HHHHHH", knock, 0, 0x0800, 0, 0, turn)

    def readfrom_mem(self, address: int, register: int, size: int) -> bytes:
        """Answer as the sensor's registers would."""
        if not self._there:
            raise OSError(19)
        if register == 0x75:
            return b"\x68"
        if register == 0x72:
            return struct.pack(">H", len(self._queue))
        if register == 0x74:
            data = self._queue[:size]
            self._queue = self._queue[size:]
            return data
        return bytes(size)

    def writeto_mem(self, address: int, register: int, data: bytes) -> None:
        """Take a setting."""
        if not self._there:
            raise OSError(19)


class UnixPorts:
    """All that a board's program asks of its board."""

    cause = 1

    def __init__(self, path: str, radio: str = "", seats: str = "1") -> None:
        self.roles = pins_of("unix")
        self.links = [TerminalLink(0)]
        self.radio = (_bluetooth(radio), int(seats)) if radio else None
        self.ring = EdgeRing()
        self.listeners = {}
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.connect(struct.pack("H", socket.AF_UNIX) + path.encode())
        self._socket.setblocking(False)
        self._part = b""
        self._now = 0
        self._pressed_ms = 0
        self._battery_mv = 0
        self.clock = WideClock(self.ticks_us)

    def ticks_us(self) -> int:
        """Return the ticks, which wrap like those of a chip; the time of the last record."""
        return self._now & 0x3FFFFFFF

    def edges(self, data: int, clock: int, inverted: bool, source):
        """Return the feed of a clocked source; here the lines do not pass a level shifter."""
        return _EdgeFeed(self, source)

    def request(self, pin: int):
        """Return what pulls the request line."""
        return _nobody

    def uart(self, rx: int, tx: int, baud: int, bits: int, parity: str, stop: int, source):
        """Return the feed of a text line."""
        return _Listener(self, BYTE, source.byte)

    def bridge(self, data: int, clock: int, pulses: int, source):
        """Return the feed of a bridge converter."""
        return _Listener(self, WORD, source.word)

    def i2c(self, sda: int, scl: int):
        """Return the bus."""
        bus = _Bus()
        self.listeners[SAMPLE] = bus.sample
        return bus

    def release(self) -> None:
        """Let go of what the sources were given."""
        self.listeners.clear()

    def lamp_green(self, level: int) -> None:
        """Light the green lamp."""

    lamp_red = beep = lamp_green

    def pressed_ms(self) -> int:
        """Return how long the button was held, once; 0 when it was not pressed."""
        held = self._pressed_ms
        self._pressed_ms = 0
        return held

    def measure_battery(self) -> None:
        """Say that a divider is fitted; the simulated one always is."""

    def battery_mv(self) -> int:
        """Return the battery's voltage; 0 when it is not known."""
        return self._battery_mv

    def feed_watchdog(self) -> None:
        """Take what has come over the socket, once at the end of each step.

        So what came before the button is with its source before the button counts.
        """
        if self.radio:
            self.radio[0].pump()
        try:
            data = self._part + (self._socket.recv(2048) or b"")
        except OSError:
            return
        whole = len(data) - len(data) % _RECORD_SIZE
        self._part = data[whole:]
        for at in range(0, whole, _RECORD_SIZE):
            self._sort(*struct.unpack(_RECORD, data[at : at + _RECORD_SIZE]))

    def _sort(self, t_us: int, kind: int, value: int) -> None:
        self._now = t_us
        if kind == EDGE:
            self.ring.push(self.ticks_us(), value)
        elif kind == BUTTON:
            self._pressed_ms = value
        elif kind == BATTERY:
            self._battery_mv = value
        elif kind in self.listeners:
            self.listeners[kind](value, self.clock.widen(self.ticks_us()))


def _nobody(level: int) -> None:
    pass


def _bluetooth(path: str):
    from rockboard.boards.unix_radio import UnixBluetooth

    return UnixBluetooth(path)


def main(path: str, name: str, secret: str, folder: str, *radio) -> None:
    """Run the board until it is killed, or a host asks for the console."""
    flash = folder + "/" if folder else None
    app = build(UnixPorts(path, *radio), RECORD_RING, flash, secret, name)
    app.run()


if __name__ == "__main__":
    main(*sys.argv[1:])

"""A board with ESP32-S3.

It has no state machines that MicroPython could load, so pin interrupts take the edges, and they
wait while MicroPython is busy or the flash is written: a word that is hit is given up and reported
(frame_cut), never misread. The text line loses bytes only when more than its buffer comes during a
stall. Stamps of bytes are reckoned back from when they are read, 5 to 20 ms late at most, later by
the length of a stall.

Not tried on a chip yet; the register-free parts are MicroPython's documented ones.
"""

import gc

import micropython

RECORD_RING = bytearray(16 * 1024)  # first of all, while the heap is one piece
gc.threshold(8_192)
micropython.opt_level(3)

# ruff: noqa: E402
import os
import sys
import time

import machine
from micropython import const

from rockboard.boards.chip import PARITY, ChipPorts
from rockboard.boards.pins import pins_of
from rockboard.chip_radio import radio_with
from rockboard.edge_ring import EdgeRing
from rockboard.lean import forget
from rockboard.usb_link import UsbLink

_SLOW_MS = const(100)
_LEFT_ALONE_MS = const(2_000)
_UARTS = const(2)  # that are free beside the console's: 1 and 2
_CONSOLE = "console"  # this file says: at the next start leave the console alone


class _ConsoleLink(UsbLink):
    """The console of this chip, which says that it takes bytes even while its host sleeps.

    MicroPython then waits up to half a second for each write, so after a slow one the host is left
    alone for a while. Source: ports/esp32/mphalport.c and shared/tinyusb/mp_usbd_cdc.c of
    MicroPython 1.28, `mp_hal_stdio_poll` and `mp_usbd_cdc_tx_strn`.
    """

    def __init__(self) -> None:
        super().__init__()
        self._away = False
        self._since_ms = 0

    def write(self, data: bytes) -> int:
        """Send what fits and return how much that was; a host that went away takes nothing."""
        begin_ms = time.ticks_ms()
        if self._away and time.ticks_diff(begin_ms, self._since_ms) < _LEFT_ALONE_MS:
            return 0
        taken = sys.stdout.buffer.write(data)
        self._since_ms = time.ticks_ms()
        self._away = time.ticks_diff(self._since_ms, begin_ms) > _SLOW_MS
        return taken


class _Edges:
    """Clock edges by pin interrupt."""

    def __init__(self, data: int, clock: int, inverted: bool, source, wide) -> None:
        self._ring = EdgeRing()
        self._wide = wide
        self._source = source
        self._flip = 3 if inverted else 0
        self._data = machine.Pin(data, machine.Pin.IN, machine.Pin.PULL_UP)
        self._clock = machine.Pin(clock, machine.Pin.IN, machine.Pin.PULL_UP)
        self._clock.irq(self._edge, machine.Pin.IRQ_RISING | machine.Pin.IRQ_FALLING)

    def _edge(self, pin) -> None:
        levels = (self._data.value() | pin.value() << 1) ^ self._flip
        self._ring.push(time.ticks_us(), levels)

    def drain(self) -> None:
        """Hand on what came."""
        self._ring.drain(self._wide, self._source)

    def close(self) -> None:
        """Take no more edges."""
        self._clock.irq(None)


class _Line:
    """Bytes of a UART, their times reckoned back from now."""

    def __init__(self, uart, baud: int, source, wide) -> None:
        self._uart = uart
        self._byte_us = 10_000_000 // baud
        self._source = source
        self._wide = wide

    def drain(self) -> None:
        """Hand on what came."""
        data = self._uart.read()
        if data:
            t_us = self._wide.now_us() - len(data) * self._byte_us
            for value in data:
                self._source.byte(value, t_us)
                t_us += self._byte_us


class _Bridge:
    """A bridge converter, read bit by bit when it is ready."""

    def __init__(self, data: int, clock: int, pulses: int, source, wide) -> None:
        self._data = machine.Pin(data, machine.Pin.IN, machine.Pin.PULL_UP)
        self._clock = machine.Pin(clock, machine.Pin.OUT, value=0)
        self._pulses = pulses
        self._source = source
        self._wide = wide

    def drain(self) -> None:
        """Read a value if there is one; interrupts wait while the clock is high."""
        if self._data.value():
            return
        t_us = self._wide.now_us()
        word = 0
        for _ in range(self._pulses):
            state = machine.disable_irq()
            self._clock.value(1)
            bit = self._data.value()
            self._clock.value(0)
            machine.enable_irq(state)
            word = word << 1 | bit
        self._source.word(word >> (self._pulses - 24) & 0xFFFFFF, t_us)


class Esp32Ports(ChipPorts):
    """All that a board's program asks of its board."""

    def __init__(self, roles) -> None:
        cause = {machine.PWRON_RESET: 1, machine.WDT_RESET: 3}.get(machine.reset_cause(), 2)
        super().__init__(roles, cause, radio_with(2))
        self._edges = []
        self._lines = []

    def edges(self, data: int, clock: int, inverted: bool, source):
        """Return the feed of a clocked source."""
        self._edges.append(_Edges(data, clock, inverted, source, self.clock))
        return self._edges[-1]

    def uart(self, rx: int, tx: int, baud: int, bits: int, parity: str, stop: int, source):
        """Return the feed of a text line."""
        if len(self._lines) == _UARTS:
            raise ValueError("this chip has two free UARTs, for two text lines")
        uart = machine.UART(
            1 + len(self._lines),
            baud,
            rx=rx,
            tx=tx,
            bits=bits,
            parity=PARITY[parity],
            stop=stop,
            rxbuf=1_024,
            timeout=0,
        )
        self._lines.append(uart)
        return _Line(uart, baud, source, self.clock)

    def bridge(self, data: int, clock: int, pulses: int, source):
        """Return the feed of a bridge converter."""
        return _Bridge(data, clock, pulses, source, self.clock)

    def i2c(self, sda: int, scl: int):
        """Return the bus."""
        return machine.I2C(0, sda=machine.Pin(sda), scl=machine.Pin(scl), freq=400_000)

    def open_battery(self, pin: int):
        """Return what reads half the battery's voltage in mV."""
        # Without attenuation this chip's converter ends below 1 V; half a full cell is 2.1 V.
        converter = machine.ADC(machine.Pin(pin), atten=machine.ADC.ATTN_11DB)
        return lambda: converter.read_uv() // 1_000

    def release(self) -> None:
        """Let go of what the sources were given."""
        for feed in self._edges:
            feed.close()
        for uart in self._lines:
            uart.deinit()
        self._edges = []
        self._lines = []


def main() -> None:
    """Run the board; when a host asks for the console, restart without the program.

    The watchdog of this chip cannot be stopped, so the way to the console leads through a restart.
    """
    if _CONSOLE in os.listdir():
        os.remove(_CONSOLE)
        return
    ports = Esp32Ports(pins_of("esp32s3"))
    if ports.button_down():
        print("rockhold: the button is held, so the program does not start")
        return
    ports.links.append(_ConsoleLink())
    micropython.kbd_intr(-1)
    try:
        app = _built(ports)
        ports.start_watchdog()
        app.run()
        with open(_CONSOLE, "w") as file:
            file.write("1")
        machine.reset()
    finally:
        micropython.kbd_intr(3)


def _built(ports):
    """Return the program, and let go of what only put it together."""
    from rockboard.build import build

    app = build(ports, RECORD_RING, "", "secret")
    forget("rockboard.build", "rockboard.boards.pins")
    return app

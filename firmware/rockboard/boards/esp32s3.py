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
import time

import machine

from rockboard.boards.pins import pins_of
from rockboard.build import build
from rockboard.chip_radio import radio_with
from rockboard.clock import WideClock
from rockboard.edge_ring import EdgeRing
from rockboard.usb_link import UsbLink

_WATCHDOG_MS = 8_000
_PARITY = {"none": None, "even": 0, "odd": 1}
_CONSOLE = "console"  # this file says: at the next start leave the console alone
_SHORTEST_PRESS_MS = 30
_NO_CELL_MV = 1_000  # the cell's own protection cuts off far above


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


class Esp32Ports:
    """All that a board's program asks of its board."""

    def __init__(self, roles) -> None:
        self.roles = roles
        self.clock = WideClock(time.ticks_us)
        cause = machine.reset_cause()
        self.cause = {machine.PWRON_RESET: 1, machine.WDT_RESET: 3}.get(cause, 2)
        self._button = machine.Pin(roles["button"], machine.Pin.IN, machine.Pin.PULL_UP)
        self._down_ms = None
        self._green = machine.Pin(roles["lamp_green"], machine.Pin.OUT, value=0)
        self._red = machine.Pin(roles["lamp_red"], machine.Pin.OUT, value=0)
        self._beeper = machine.PWM(machine.Pin(roles["beeper"]), freq=2_700, duty_u16=0)
        self._battery = None
        self._watchdog = None
        self.links = []
        self._edges = []
        self.radio = radio_with(2)

    def edges(self, data: int, clock: int, inverted: bool, source):
        """Return the feed of a clocked source."""
        self._edges.append(_Edges(data, clock, inverted, source, self.clock))
        return self._edges[-1]

    def request(self, pin: int):
        """Return what pulls the request line: high switches the transistor on."""
        return machine.Pin(pin, machine.Pin.OUT, value=0).value

    def uart(self, rx: int, tx: int, baud: int, bits: int, parity: str, stop: int, source):
        """Return the feed of a text line."""
        uart = machine.UART(
            1,
            baud,
            rx=rx,
            tx=tx,
            bits=bits,
            parity=_PARITY[parity],
            stop=stop,
            rxbuf=1_024,
            timeout=0,
        )
        return _Line(uart, baud, source, self.clock)

    def bridge(self, data: int, clock: int, pulses: int, source):
        """Return the feed of a bridge converter."""
        return _Bridge(data, clock, pulses, source, self.clock)

    def i2c(self, sda: int, scl: int):
        """Return the bus."""
        return machine.I2C(0, sda=machine.Pin(sda), scl=machine.Pin(scl), freq=400_000)

    def lamp_green(self, level: int) -> None:
        """Light the green lamp."""
        self._green.value(level)

    def lamp_red(self, level: int) -> None:
        """Light the red lamp."""
        self._red.value(level)

    def beep(self, level: int) -> None:
        """Let the beeper sound."""
        self._beeper.duty_u16(level << 15)

    def button_down(self) -> bool:
        """Say whether the button is held."""
        return not self._button.value()

    def pressed_ms(self) -> int:
        """Return how long the button was held, once, when it was let go; else 0."""
        now_ms = time.ticks_ms()
        if self.button_down():
            self._down_ms = now_ms if self._down_ms is None else self._down_ms
            return 0
        if self._down_ms is None:
            return 0
        held_ms = time.ticks_diff(now_ms, self._down_ms)
        self._down_ms = None
        return held_ms if held_ms >= _SHORTEST_PRESS_MS else 0

    def measure_battery(self) -> None:
        """Say that a divider is fitted, which halves the battery's voltage."""
        # Without attenuation this chip's converter ends below 1 V; half a full cell is 2.1 V.
        pin = machine.Pin(self.roles["battery"])
        self._battery = machine.ADC(pin, atten=machine.ADC.ATTN_11DB)

    def battery_mv(self) -> int:
        """Return the battery's voltage; 0 when it is not known, or its switch is off."""
        now_mv = self._battery.read_uv() // 500 if self._battery is not None else 0
        return now_mv if now_mv > _NO_CELL_MV else 0

    def release(self) -> None:
        """Let go of what the sources were given."""
        for feed in self._edges:
            feed.close()
        self._edges = []

    def start_watchdog(self) -> None:
        """From now on the board restarts when its program stands still for eight seconds."""
        self._watchdog = machine.WDT(timeout=_WATCHDOG_MS)

    def feed_watchdog(self) -> None:
        """Show that the program lives."""
        if self._watchdog is not None:
            self._watchdog.feed()


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
    ports.links.append(UsbLink())
    micropython.kbd_intr(-1)
    try:
        app = build(ports, RECORD_RING, "", "secret")
        ports.start_watchdog()
        app.run()
        with open(_CONSOLE, "w") as file:
            file.write("1")
        machine.reset()
    finally:
        micropython.kbd_intr(3)

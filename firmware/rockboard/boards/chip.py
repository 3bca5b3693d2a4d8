"""What boards with a chip have in common: button, lamps, beeper, battery, watchdog."""

import time

import machine
from micropython import const

from rockboard.clock import WideClock

PARITY = {"none": None, "even": 0, "odd": 1}
_WATCHDOG_MS = const(8_000)
_BEEP_HZ = const(2_700)
_SHORTEST_PRESS_MS = const(30)
_NO_CELL_MV = const(1_000)  # the cell's own protection cuts off far above


class ChipPorts:
    """All that a board's program asks of its board; pins and buses of the sources by a subclass.

    Args:
        roles: Role → pin number.
        cause: Why the board started: 1 power, 2 reset, 3 watchdog.
        radio: See chip_radio.py; None for a board without.
    """

    def __init__(self, roles, cause: int, radio) -> None:
        self.roles = roles
        self.cause = cause
        self.radio = radio
        self.links = []
        self.clock = WideClock(time.ticks_us)
        self._button = machine.Pin(roles["button"], machine.Pin.IN, machine.Pin.PULL_UP)
        self._down_ms = None
        self._green = machine.Pin(roles["lamp_green"], machine.Pin.OUT, value=0)
        self._red = machine.Pin(roles["lamp_red"], machine.Pin.OUT, value=0)
        self._beeper = machine.PWM(machine.Pin(roles["beeper"]), freq=_BEEP_HZ, duty_u16=0)
        self._half_battery_mv = None
        self._watchdog = None

    def request(self, pin: int):
        """Return what pulls the request line: high switches the transistor on."""
        return machine.Pin(pin, machine.Pin.OUT, value=0).value

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
            if self._down_ms is None:
                self._down_ms = now_ms
            return 0
        if self._down_ms is None:
            return 0
        held_ms = time.ticks_diff(now_ms, self._down_ms)
        self._down_ms = None
        return held_ms if held_ms >= _SHORTEST_PRESS_MS else 0

    def measure_battery(self) -> None:
        """Say that a divider is fitted, which halves the battery's voltage."""
        self._half_battery_mv = self.open_battery(self.roles["battery"])

    def open_battery(self, pin: int):
        """Return what reads half the battery's voltage in mV."""
        raise NotImplementedError

    def battery_mv(self) -> int:
        """Return the battery's voltage; 0 when it is not known, or its switch is off."""
        now_mv = 2 * self._half_battery_mv() if self._half_battery_mv is not None else 0
        return now_mv if now_mv > _NO_CELL_MV else 0

    def start_watchdog(self) -> None:
        """From now on the board restarts when its program stands still for eight seconds."""
        self._watchdog = machine.WDT(timeout=_WATCHDOG_MS)

    def feed_watchdog(self) -> None:
        """Show that the program lives."""
        if self._watchdog is not None:
            self._watchdog.feed()

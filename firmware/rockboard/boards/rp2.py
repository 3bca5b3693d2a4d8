"""What boards with RP2040 and RP2350 have in common.

Whatever must not wait for the program comes in without it: state machines take the edges of clocked
gauges and read the bridge converter, the UART takes the text lines, and DMA moves each value into
RAM together with the timer's microseconds (stamp_ring.py). So nothing is lost and no time is wrong
while an erase of the flash stops the processor.

Source: RP2040 and RP2350 datasheets (register addresses, DREQ numbers), MicroPython `rp2.DMA`.
"""

import time
from collections import namedtuple

import machine
import micropython
import rp2
import uctypes
import vfs

from rockboard import pio
from rockboard.build import build
from rockboard.chip_radio import radio_with
from rockboard.clock import WideClock
from rockboard.patient_flash import PatientFlash
from rockboard.stamp_ring import ByteFeed, EdgeFeed, StampRing, WordFeed
from rockboard.usb_link import UsbLink

# Addresses: low word of the timer, the two UARTs, watchdog. uart_dreq: of UART 0; 1 is two further.
Chip = namedtuple("Chip", ("timer", "uarts", "uart_dreq", "watchdog"))
RP2040 = Chip(0x40054028, (0x40034000, 0x40038000), 21, 0x40058000)
RP2350 = Chip(0x400B0028, (0x40070000, 0x40078000), 29, 0x400D8000)

_PIO0_QUEUE = 0x50200020
_PIO0_DREQ = 4
_IMSC, _DMACR = 0x38, 0x48
_CLEAR = 0x3000  # alias of a register that clears the bits written to it
_WATCHDOG_ON = 1 << 30
_WATCHDOG_MS = 8_000
_EDGES = 512  # ten words of 24 bits: 0.7 s
_BYTES = 512  # 0.5 s at 9600 baud
_WORDS = 64  # 0.8 s at 80 a second
_BEEP_HZ = 2_700
_PARITY = {"none": None, "even": 0, "odd": 1}
_SHORTEST_PRESS_MS = 30
_NO_CELL_MV = 1_000  # the cell's own protection cuts off far above
_PAGE = 256  # what the flash programs at a time


class StampedDma:
    """Two DMA channels that copy each value and its time into rings.

    Args:
        source: Address of the register that is read.
        treq: Which request says that a value is there.
        size: How many values the ring holds; a power of two.
        width: Bytes of a value: 1, 2 or 4.
        timer: Address of the timer's low word.
    """

    def __init__(self, source: int, treq: int, size: int, width: int, timer: int) -> None:
        values_at, self._values = _aligned(size * width)
        stamps_at, self._stamps = _aligned(size * 4)
        self._stamps_at = stamps_at
        self._first, self._second = rp2.DMA(), rp2.DMA()
        second = self._second.pack_ctrl(
            size=2,
            inc_read=False,
            ring_sel=True,
            ring_size=_bits(size * 4),
            irq_quiet=True,
            chain_to=self._first.channel,
        )
        first = self._first.pack_ctrl(
            size=_bits(width),
            inc_read=False,
            ring_sel=True,
            ring_size=_bits(size * width),
            irq_quiet=True,
            treq_sel=treq,
            chain_to=self._second.channel,
        )
        self._second.config(read=timer, write=stamps_at, count=1, ctrl=second, trigger=False)
        self._first.config(read=source, write=values_at, count=1, ctrl=first, trigger=True)
        kind = {1: uctypes.UINT8, 2: uctypes.UINT16, 4: uctypes.UINT32}[width]
        values, stamps = _array(values_at, kind, size), _array(stamps_at, uctypes.UINT32, size)
        self.ring = StampRing(values, stamps, size, self.position)

    def position(self) -> int:
        """Return the place that is written next."""
        return (self._second.write - self._stamps_at) >> 2

    def close(self) -> None:
        """Stop; the console's garbage collector may then have the memory."""
        self._first.close()
        self._second.close()


def _aligned(size: int):
    """Return (address, owner) of memory that begins at a multiple of its size, a power of two."""
    owner = bytearray(2 * size)
    at = uctypes.addressof(owner)
    return at + (-at % size), owner


def _array(at: int, kind: int, size: int):
    return uctypes.struct(at, {"all": (uctypes.ARRAY | 0, size | kind)}, uctypes.LITTLE_ENDIAN).all


def _bits(size: int) -> int:
    bits = 0
    while 1 << bits < size:
        bits += 1
    return bits


class Rp2Ports:
    """All that a board's program asks of its board.

    Args:
        chip: The chip's addresses.
        roles: Role → pin number.
    """

    def __init__(self, chip, roles) -> None:
        self.roles = roles
        self._chip = chip
        self.clock = WideClock(time.ticks_us)
        reason = machine.mem32[chip.watchdog + 8]
        self.cause = 3 if reason & 1 else 2 if reason & 2 else 1
        self._button = machine.Pin(roles["button"], machine.Pin.IN, machine.Pin.PULL_UP)
        self._down_ms = None
        self._green = machine.Pin(roles["lamp_green"], machine.Pin.OUT, value=0)
        self._red = machine.Pin(roles["lamp_red"], machine.Pin.OUT, value=0)
        self._beeper = machine.PWM(machine.Pin(roles["beeper"]), freq=_BEEP_HZ, duty_u16=0)
        self._battery = None
        self._watchdog = None
        self._machines = []
        self._dmas = []
        self.links = []
        self.radio = radio_with(1)

    # --- sources ----------------------------------------------------------------------------

    def edges(self, data: int, clock: int, inverted: bool, source):
        """Return the feed of a clocked source."""
        machine.Pin(clock, machine.Pin.IN, machine.Pin.PULL_UP)
        pin = machine.Pin(data, machine.Pin.IN, machine.Pin.PULL_UP)
        ring = self._state_machine(_EDGES, 1, pio.edges(rp2, clock, not inverted), in_base=pin)
        return EdgeFeed(ring, self.clock, source, inverted)

    def request(self, pin: int):
        """Return what pulls the request line: high switches the transistor on."""
        return machine.Pin(pin, machine.Pin.OUT, value=0).value

    def uart(self, rx: int, tx: int, baud: int, bits: int, parity: str, stop: int, source):
        """Return the feed of a text line."""
        number = (rx + 4) >> 3 & 1
        uart = machine.UART(
            number,
            baud,
            rx=machine.Pin(rx),
            tx=machine.Pin(tx),
            bits=bits,
            parity=_PARITY[parity],
            stop=stop,
        )
        # From here on DMA empties the queue, not MicroPython's interrupt.
        base = self._chip.uarts[number]
        machine.mem32[base + _IMSC] = 0
        machine.mem32[base + _DMACR] = 1
        self._machines.append(uart)
        treq = self._chip.uart_dreq + 2 * number
        return ByteFeed(self._dma(base, treq, _BYTES, 2), self.clock, source)

    def bridge(self, data: int, clock: int, pulses: int, source):
        """Return the feed of a bridge converter."""
        ring = self._state_machine(
            _WORDS,
            4,
            pio.bridge(rp2, pulses),
            freq=1_000_000,
            in_base=machine.Pin(data, machine.Pin.IN, machine.Pin.PULL_UP),
            sideset_base=machine.Pin(clock, machine.Pin.OUT, value=0),
        )
        return WordFeed(ring, self.clock, source, pulses - 24)

    def i2c(self, sda: int, scl: int):
        """Return the bus."""
        return machine.I2C(
            sda >> 1 & 1, sda=machine.Pin(sda), scl=machine.Pin(scl), freq=400_000, timeout=5_000
        )

    def _state_machine(self, size: int, width: int, program, **options):
        number = len([one for one in self._machines if isinstance(one, rp2.StateMachine)])
        ring = self._dma(_PIO0_QUEUE + 4 * number, _PIO0_DREQ + number, size, width)
        runner = rp2.StateMachine(number, program, **options)
        runner.active(1)
        self._machines.append(runner)
        return ring

    def _dma(self, source: int, treq: int, size: int, width: int):
        dma = StampedDma(source, treq, size, width, self._chip.timer)
        self._dmas.append(dma)
        return dma.ring

    # --- technician -------------------------------------------------------------------------

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
        self._battery = machine.ADC(machine.Pin(self.roles["battery"]))

    def battery_mv(self) -> int:
        """Return the battery's voltage; 0 when it is not known, or its switch is off."""
        now_mv = self._battery.read_u16() * 6_600 // 65_535 if self._battery is not None else 0
        return now_mv if now_mv > _NO_CELL_MV else 0

    # --- life -------------------------------------------------------------------------------

    def start_watchdog(self) -> None:
        """From now on the board restarts when its program stands still for eight seconds."""
        self._watchdog = machine.WDT(timeout=_WATCHDOG_MS)

    def feed_watchdog(self) -> None:
        """Show that the program lives."""
        if self._watchdog is not None:
            self._watchdog.feed()

    def release(self) -> None:
        """Let go of what the sources were given."""
        for runner in self._machines:
            if isinstance(runner, rp2.StateMachine):
                runner.active(0)
            else:
                runner.deinit()
        rp2.PIO(0).remove_program()
        for dma in self._dmas:
            dma.close()
        self._machines = []
        self._dmas = []

    def stop(self) -> None:
        """Stop all that runs by itself, so that the console can be used."""
        machine.mem32[self._chip.watchdog + _CLEAR] = _WATCHDOG_ON
        self.release()
        self._beeper.deinit()
        if self.radio is not None:
            bluetooth, _ = self.radio
            bluetooth.BLE().active(False)


def run(chip, roles, ring: bytearray) -> None:
    """Run the board until a host asks for the console; held at power-up, the button gives it, too.

    While the program runs Ctrl-C is a byte like others, for frames may hold it.
    """
    ports = Rp2Ports(chip, roles)
    if ports.button_down():
        print("rockhold: the button is held, so the program does not start")
        ports.stop()
        return
    ports.links.append(UsbLink())
    micropython.kbd_intr(-1)
    try:
        flash = PatientFlash(rp2.Flash())
        vfs.umount("/")
        vfs.mount(vfs.VfsLfs2(flash, progsize=_PAGE), "/")
        app = build(ports, ring, "", "secret")
        flash.breathe = app.breathe
        ports.start_watchdog()
        app.run()
    finally:
        ports.stop()
        micropython.kbd_intr(3)

"""What boards with RP2040 and RP2350 have in common.

Whatever must not wait for the program comes in without it: state machines take the edges of clocked
gauges and read the bridge converter, the UART takes the text lines, and DMA moves each value into
RAM together with the timer's microseconds (stamp_ring.py). So nothing is lost and no time is wrong
while an erase of the flash stops the processor.

Source: RP2040 and RP2350 datasheets (register addresses, DREQ numbers), MicroPython `rp2.DMA`.
"""

from collections import namedtuple

import machine
import micropython
import rp2
import vfs
from micropython import const

from rockboard.boards.chip import PARITY, ChipPorts
from rockboard.boards.rp2_dma import StampedDma
from rockboard.chip_radio import radio_with
from rockboard.lean import forget
from rockboard.patient_flash import PatientFlash
from rockboard.stamp_ring import ByteFeed, EdgeFeed, WordFeed
from rockboard.usb_link import UsbLink

# Addresses: low word of the timer, the two UARTs, watchdog. uart_dreq: of UART 0; 1 is two further.
Chip = namedtuple("Chip", "timer uarts uart_dreq watchdog")
RP2040 = Chip(0x40054028, (0x40034000, 0x40038000), 21, 0x40058000)
RP2350 = Chip(0x400B0028, (0x40070000, 0x40078000), 29, 0x400D8000)

_PIO0_QUEUE = const(0x50200020)
_PIO0_DREQ = const(4)
_IMSC = const(0x38)
_DMACR = const(0x48)
_CLEAR = const(0x3000)  # alias of a register that clears the bits written to it
_WATCHDOG_ON = const(1 << 30)
_EDGES = const(512)  # ten words of 24 bits: 0.7 s
_BYTES = const(512)  # 0.5 s at 9600 baud
_WORDS = const(64)  # 0.8 s at 80 a second
_PAGE = const(256)  # what the flash programs at a time


class Rp2Ports(ChipPorts):
    """All that a board's program asks of its board.

    Args:
        chip: The chip's addresses.
        roles: Role → pin number.
    """

    def __init__(self, chip, roles) -> None:
        reason = machine.mem32[chip.watchdog + 8]
        super().__init__(roles, 3 if reason & 1 else 2 if reason & 2 else 1, radio_with(1))
        self._chip = chip
        self._machines = []
        self._dmas = []

    def edges(self, data: int, clock: int, inverted: bool, source):
        """Return the feed of a clocked source."""
        from rockboard import pio

        machine.Pin(clock, machine.Pin.IN, machine.Pin.PULL_UP)
        pin = machine.Pin(data, machine.Pin.IN, machine.Pin.PULL_UP)
        ring = self._state_machine(_EDGES, 1, pio.edges(rp2, clock, not inverted), in_base=pin)
        return EdgeFeed(ring, self.clock, source, inverted)

    def uart(self, rx: int, tx: int, baud: int, bits: int, parity: str, stop: int, source):
        """Return the feed of a text line."""
        number = (rx + 4) >> 3 & 1
        uart = machine.UART(
            number,
            baud,
            rx=machine.Pin(rx),
            tx=machine.Pin(tx),
            bits=bits,
            parity=PARITY[parity],
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
        from rockboard import pio

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

    def open_battery(self, pin: int):
        """Return what reads half the battery's voltage in mV."""
        converter = machine.ADC(machine.Pin(pin))
        return lambda: converter.read_u16() * 3_300 // 65_535

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
        app = _built(ports, ring)
        flash.breathe = app.breathe
        ports.start_watchdog()
        app.run()
    finally:
        ports.stop()
        micropython.kbd_intr(3)


def _built(ports, ring: bytearray):
    """Return the program, and let go of what only put it together."""
    from rockboard.build import build

    app = build(ports, ring, "", "secret")
    forget("rockboard.build", "rockboard.pio", "rockboard.boards.pins")
    return app

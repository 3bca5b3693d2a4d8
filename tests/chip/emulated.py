"""An emulated RP2040 that boots a real MicroPython image, its USB console on a pseudo-terminal.

    python emulated.py IMAGE.uf2

Prints "port DEVICE", then obeys lines on its input, in emulated time:

    word HEX N GAP_MS     clock a 24-bit word into the gauge's pins N times, inverted as behind the
                          level shifter; prints "played" when the last one is in
    press MS              hold the button
    time                  print the emulated time in ns
    end

rp2040py does the work. Two things of it are put right here, because the board needs them: its USB
host answers every waiting read with an empty packet at once, where a real host says nothing until
it has data; and a UART's queue raises no request for DMA.
"""

import asyncio
import sys
from pathlib import Path

from rp2040py.boards import BOARDS, resolve_firmware
from rp2040py.cli.pty_repl import PtyInteractiveRepl
from rp2040py.device import MicroPythonDevice
from rp2040py.usb.cdc import USBCDC

DATA, CLOCK, BUTTON = 2, 3, 15
_LOW_US, _HIGH_US, _REST_US = 130, 55, 260


def keep_quiet_without_data(cdc):
    """Let the emulated USB host answer a read only when there is something to send."""
    usb = cdc.usb
    answer = usb.on_endpoint_read
    send = cdc.send_serial_byte
    waiting = []

    def on_read(endpoint, size):
        if endpoint == cdc._out_endpoint and cdc.tx_fifo.empty:
            waiting[:] = [(endpoint, size)]
        else:
            answer(endpoint, size)

    def deliver():
        if waiting and not cdc.tx_fifo.empty:
            answer(*waiting.pop())

    alarm = usb.rp2040.clock.create_alarm(deliver)

    def send_byte(value):
        send(value)
        if waiting:
            alarm.schedule(20_000)

    on_reset = usb.on_reset

    def reset():
        waiting.clear()
        on_reset()

    usb.on_endpoint_read = on_read
    usb.on_reset = reset
    cdc.send_serial_byte = send_byte


class QuietCdc(USBCDC):
    """The USB console with a host that keeps quiet."""

    def __init__(self, usb):
        super().__init__(usb)
        keep_quiet_without_data(self)


class Player:
    """Sets pins at given emulated times."""

    def __init__(self, device):
        self._mcu = device.mcu
        self._clock = device.simulator.clock
        self._events = []
        self._alarm = self._clock.create_alarm(self._step)
        self._done = lambda: None

    def play(self, events, done):
        """Play (ns from now, pin, level) events, in order."""
        now = self._clock.nanos
        self._events = [(now + at, pin, level) for at, pin, level in events]
        self._done = done
        self._arm()

    def _arm(self):
        self._alarm.schedule(max(0, self._events[0][0] - self._clock.nanos))

    def _step(self):
        while self._events and self._events[0][0] <= self._clock.nanos:
            _, pin, level = self._events.pop(0)
            if pin is not None:
                self._mcu.gpio[pin].set_input_value(bool(level))
        if self._events:
            self._arm()
        else:
            self._done()


def word_events(word, times, gap_ms):
    """Return the pin events of words as a real gauge times them, lines inverted.

    While its processor sleeps the emulator jumps from event to event and lets the state machines
    run only there; an event without a pin a microsecond later lets them finish their few steps.
    """
    events, t_us = [], 1_000
    for _ in range(times):
        for bit in range(24):
            events.append((t_us * 1_000, DATA, not word >> bit & 1))
            events.append((t_us * 1_000 + 5_000, CLOCK, 1))
            t_us += _LOW_US
            events.append((t_us * 1_000, CLOCK, 0))
            t_us += _REST_US if bit % 4 == 3 else _HIGH_US
        t_us += gap_ms * 1_000
    pauses = [(at + more, None, 0) for at, _, _ in events for more in (500, 1_000, 2_000)]
    return sorted(events + pauses, key=lambda event: event[0])


async def obey(device, player):
    """Obey the lines on the input."""
    loop = asyncio.get_running_loop()
    reader = asyncio.StreamReader()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    while True:
        words = (await reader.readline()).decode().split()
        if not words or words[0] == "end":
            return
        if words[0] == "time":
            print("time", device.simulator.clock.nanos, flush=True)
        elif words[0] == "word":
            events = word_events(int(words[1], 16), int(words[2]), int(words[3]))
            player.play(events, lambda: print("played", flush=True))
        elif words[0] == "press":
            hold_ns = int(words[1]) * 1_000_000
            player.play([(0, BUTTON, 0), (hold_ns, BUTTON, 1)], lambda: print("played", flush=True))


def payload_of(image):
    """Return what a UF2 file puts into the flash: 256 bytes of each block of 512."""
    data = Path(image).read_bytes()
    return b"".join(data[at + 32 : at + 288] for at in range(0, len(data), 512))


async def main(image):
    """Boot the image and serve it until told to end."""
    import rp2040py.device.base_device as base

    base.USBCDC = QuietCdc
    board = "pico_w" if b"Pico W" in payload_of(image) else "pico"
    device = MicroPythonDevice(board=resolve_firmware(BOARDS[board], "micropython", image))
    for pin, rest in ((DATA, 0), (CLOCK, 0), (BUTTON, 1)):
        device.mcu.gpio[pin].set_input_value(bool(rest))
    player = Player(device)
    console = PtyInteractiveRepl(device.cdc, device.simulator, lambda code: None)
    await console.start()
    try:
        await device.astart(timeout=None)
        print("port", console.slave_path, flush=True)
        await obey(device, player)
    finally:
        await console.stop()
        device.stop()


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1]))

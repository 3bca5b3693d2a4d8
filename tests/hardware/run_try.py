"""Run the two programs for trying where no chip is: what they say, and which calls they make.

Runs on MicroPython and CPython alike. The pins here are stand-ins that only answer; what is tried
is the programs' arithmetic and words. Takes the folder of the recorded words and prints.
"""

import os
import sys

import try_board
import try_gauge


class Pin:
    IN, OUT, PULL_UP, PULL_DOWN = 0, 1, 2, 3

    def __init__(self, number, mode=0, pull=0, value=None):
        self.number = number

    def init(self, mode, pull=0, value=None):
        pass

    def value(self, level=None):
        return {15: 0, 2: 1, 3: 0}.get(self.number, 1)


class Sound:
    def __init__(self, pin, freq=0, duty_u16=0):
        print("beeps at", freq, "on", pin.number)

    def deinit(self):
        pass


class Adc:
    ATTN_11DB = 3

    def __init__(self, pin):
        pass

    def read_u16(self):
        return 19_800 * 2 * 65_535 // 66_000 // 1


class Uart:
    def __init__(self, number, baud, tx=None, rx=None):
        self._queue = b""
        self._joined = tx.number == 8 and rx.number == 9

    def write(self, data):
        self._queue += data if self._joined else b""

    def read(self):
        data, self._queue = self._queue, b""
        return data


class Bus:
    def __init__(self, sda=None, scl=None, freq=0):
        pass

    def scan(self):
        return [0x68, 0x20]


class Chip:
    Pin, PWM, ADC, SoftI2C, UART = Pin, Sound, Adc, Bus, Uart


class Nap:
    def sleep_ms(self, time_ms):
        pass


def samples(path, bit, full_mv, step_us=8):
    """Return (values, times) as the converter would give for a recorded line."""
    with open(path) as file:
        rows = [row for row in file.read().split("\n") if row.startswith("changes: ")]
    changes = [[int(part) for part in pair.split(":")] for pair in rows[0][9:].split(" ")]
    values, times = [], []
    at, t_us = 0, 0
    while t_us < changes[-1][0] + 500:
        while at + 1 < len(changes) and changes[at + 1][0] <= t_us:
            at += 1
        level = changes[at][1] >> bit & 1
        values.append((full_mv if level else 20) * 65_535 // 3_300)
        times.append(t_us)
        t_us += step_us
    return values, times


def seen(folder, bit, full_mv):
    looks = try_gauge.Looks()
    for name in sorted(os.listdir(folder)):
        values, times = samples(folder + "/" + name, bit, full_mv)
        looks.add(values, times, len(values))
    return looks.words()


folder = sys.argv[1]
for title, bit, full_mv in (("data", 0, 1_500), ("clock", 1, 1_500), ("weak clock", 1, 800)):
    print(title + ":", "; ".join(seen(folder, bit, full_mv)))
for title, volt in (("ground", 0), ("supply", 40_000)):
    still = try_gauge.Looks()
    still.add([volt] * 9, list(range(9)), 9)
    print(title + ":", "; ".join(still.words()))
fast = try_gauge.Looks()
fast.add([0, 0, 30_000, 30_000, 0, 30_000, 0, 0], [0, 8, 16, 24, 32, 40, 48, 56], 8)
print("fast:", "; ".join(fast.words()))
try_board.time = Nap()
try_board.main(Chip, 1)
print(try_board.cell_words(100), "|", try_board.cell_words(4_500), "|", try_board.bus_words(None))

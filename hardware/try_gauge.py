"""Look at a line of the gauge before it is wired to the circuit. MicroPython, on a Pico.

    mpremote run hardware/try_gauge.py

Wire: the gauge's ground to GND (pin 33), the line through 10 kΩ to GP28 (pin 34). First make sure
with a meter that no contact of the gauge has more than 3.3 V against its ground.

It looks for about three seconds and says how low and how high the line goes, how short its pulses
are, and whether the level shifter will hear it.
"""

from array import array

SAMPLES = 3_000
ROUNDS = 60
FULL_MV = 3_300

# What the level shifter surely takes for low and high (hardware/simulation.md), in mV, and the
# shortest pulse that it passes on.
LOW_MV = 430
HIGH_MV = 790
SHORTEST_US = 20


class Looks:
    """Gathers what was seen of a line."""

    def __init__(self):
        self.low_mv = FULL_MV
        self.high_mv = 0
        self.changes = 0
        self.shortest_low_us = None
        self.shortest_high_us = None
        self.step_us = 0  # the longest time between two samples

    def add(self, values, times, count):
        """Take a stretch of samples: 16-bit values and µs."""
        for index in range(count):
            millivolt = values[index] * FULL_MV // 65_535
            self.low_mv = min(self.low_mv, millivolt)
            self.high_mv = max(self.high_mv, millivolt)
        if self.high_mv - self.low_mv < 300:
            return
        middle = (self.low_mv + self.high_mv) // 2 * 65_535 // FULL_MV
        before = values[0] > middle
        since = None
        for index in range(1, count):
            self.step_us = max(self.step_us, times[index] - times[index - 1])
            level = values[index] > middle
            if level == before:
                continue
            if since is not None:
                self._pulse(before, times[index] - since)
            since = times[index]
            before = level
            self.changes += 1

    def _pulse(self, high, width_us):
        if high:
            if self.shortest_high_us is None or width_us < self.shortest_high_us:
                self.shortest_high_us = width_us
        elif self.shortest_low_us is None or width_us < self.shortest_low_us:
            self.shortest_low_us = width_us

    def words(self):
        """Return sentences about it."""
        out = ["from %d to %d mV" % (self.low_mv, self.high_mv)]
        if self.high_mv - self.low_mv < 300:
            out.append(self._still())
            return out
        out.append("%d changes; samples up to %d µs apart" % (self.changes, self.step_us))
        if self.shortest_low_us is not None and self.shortest_high_us is not None:
            out.append(
                "shortest low %d µs, shortest high %d µs"
                % (self.shortest_low_us, self.shortest_high_us)
            )
            if min(self.shortest_low_us, self.shortest_high_us) < SHORTEST_US:
                out.append("SHORT: the level shifter passes pulses from %d µs on" % SHORTEST_US)
        if self.low_mv > LOW_MV - 100:
            out.append("TOO HIGH a low: it must stay well below %d mV" % LOW_MV)
        if self.high_mv < HIGH_MV + 100:
            out.append("TOO LOW a high: it must come well above %d mV" % HIGH_MV)
        if len(out) == 3:
            out.append("good for the level shifter")
        return out

    def _still(self):
        if self.high_mv < 300:
            return (
                "it stays low: the gauge is off, or this is ground, or an output that only pulls "
                "down: put 47 kΩ from the line to 3V3 (pin 36) and look again"
            )
        return "it stays high: a supply, a request line, or a gauge that sends only when asked"


def main(machine, time):
    """Look and say."""
    adc = machine.ADC(28)
    values = array("H", bytes(2 * SAMPLES))
    times = array("I", bytes(4 * SAMPLES))
    looks = Looks()
    read, ticks = adc.read_u16, time.ticks_us
    print("looking …")
    for _ in range(ROUNDS):
        begin = ticks()
        for index in range(SAMPLES):
            values[index] = read()
            times[index] = time.ticks_diff(ticks(), begin)
        looks.add(values, times, SAMPLES)
    for sentence in looks.words():
        print(sentence)


if __name__ == "__main__":
    import time

    import machine

    main(machine, time)

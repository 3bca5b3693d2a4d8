"""The language of lamp and beeper: one row of the table for each thing that the board says.

A pattern is a row of times in ms: on, off, on, off … The green and the red lamp repeat theirs; the
beeper plays its own once, when the signal begins. An empty row is off.
"""

from collections import namedtuple

from rockwire import guide

# green, red: repeated. beeps: played once.
Signal = namedtuple("Signal", "meaning green red beeps")

SIGNALS = {
    guide.READY: Signal("ready", (60, 1_940), (), ()),
    guide.ROCKING: Signal("recording: rock the wheel", (500, 500), (), ()),
    guide.STILL: Signal("coming to rest: hold still", (100, 100), (), ()),
    guide.HELD: Signal("settled: change sides", (1_000,), (), (150,)),
    guide.DONE: Signal("done: enough holds", (60, 140, 60, 740), (), (300, 150, 300)),
    guide.TROUBLE: Signal("something is wrong", (), (200, 200), (80, 80, 80, 80, 80)),
}


class Player:
    """Plays the signals.

    Args:
        green: Called with 1 or 0; so are `red` and `beep`.
        red: The red lamp.
        beep: The beeper; None for a board that keeps quiet.
    """

    def __init__(self, green, red, beep=None) -> None:
        self._outputs = (green, red, beep or _quiet)
        self._signal = None
        self._since_ms = 0
        self._levels = [0, 0, 0]

    def show(self, signal: int, elapsed_ms: int) -> None:
        """Show a signal; to be called often, with the time since the last call."""
        if signal != self._signal:
            self._signal = signal
            self._since_ms = 0
        else:
            self._since_ms += elapsed_ms
        _, green, red, beeps = SIGNALS[signal]
        self._set(0, _level(green, self._since_ms, True))
        self._set(1, _level(red, self._since_ms, True))
        self._set(2, _level(beeps, self._since_ms, False))

    def off(self) -> None:
        """Let everything go dark and quiet."""
        for output in range(3):
            self._set(output, 0)
        self._signal = None

    def _set(self, output: int, level: int) -> None:
        if level != self._levels[output]:
            self._levels[output] = level
            self._outputs[output](level)


def _quiet(level: int) -> None:
    pass


def _level(pattern, at_ms: int, again: bool) -> int:
    if not pattern:
        return 0
    if again:
        at_ms %= sum(pattern)
    for index, long_ms in enumerate(pattern):
        if at_ms < long_ms:
            return 1 - index % 2
        at_ms -= long_ms
    return 0

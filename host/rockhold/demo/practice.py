"""A simulated board to practise at: it stays at a port, and somebody tells the hands what to do."""

import json
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rockhold.errors import UsageError
from rockhold.measure.torque.units import to_nm
from rockhold.measure.trace import MM_PER_INCH
from rockhold.simulator.cable import Cable
from rockhold.simulator.hands import Hands
from rockhold.simulator.jobbench import SETTINGS
from rockhold.simulator.unix_board import UnixBoard

# The board signs this name with its readings, so nobody takes practice for work.
BOARD_NAME = "practice (simulated)"
WORDS = (
    ("pull 200", "one pull of 200 lbf·ft at the wrench; `pull 12 6` makes six of them"),
    ("rock 0.003", "out and in three times, where the end play is 0.003 in; `rock 0.003 1` once"),
    ("lift", "take the indicator off the hub, so that its plunger hangs free"),
    ("seat 0.03", "set its base so that the plunger is pushed in by 0.03 in from there"),
    ("button", "press the board's button; `button 2` holds it for two seconds"),
    ("unplug", "take the board's cable out; `plug` puts it back"),
    ("end", "end the practice; Ctrl-C does so, too"),
)
_MOST_TORQUE, _MOST_PULLS = 1000.0, 20
_MOST_PLAY_IN, _MOST_CYCLES = 0.25, 10
_MOST_IN = 0.4
_SHORT_PRESS_S, _LONGEST_PRESS_S = 0.12, 10.0
_UNIT = "lbf·ft"


@dataclass(frozen=True, slots=True)
class Practice:
    """A board at a port, and the hands in front of it."""

    cable: Cable
    hands: Hands

    def do(self, line: str) -> str:
        """Do what a line says and return a sentence about it.

        Raises:
            UsageError: When it says nothing that the hands can do.
        """
        if not self.cable.is_alive():
            raise UsageError(
                "the board's program was ended from outside, as `board setup` does. Write `end`, "
                "then begin the practice again"
            )
        word, *values = line.split()
        acts: dict[str, Callable[[list[float]], str]] = {
            "pull": self._pull,
            "rock": self._rock,
            "lift": self._lift,
            "seat": self._seat,
            "button": self._button,
            "unplug": self._unplug,
            "plug": self._plug,
        }
        if word not in acts:
            raise UsageError(f"{word!r} is none of {', '.join(acts)}, end")
        try:
            numbers = [float(value) for value in values]
        except ValueError:
            raise UsageError(
                f"behind {word} stand numbers only, not {' '.join(values)!r}"
            ) from None
        return acts[word](numbers)

    def _pull(self, numbers: list[float]) -> str:
        torque, count = _two(numbers, "pull", "torque in lbf·ft", _MOST_TORQUE, _MOST_PULLS, 1)
        length_s = self.hands.pull(to_nm(torque, _UNIT), count)
        return f"Pulling {_times(count)} to {torque:g} {_UNIT}: {length_s:.0f} s."

    def _rock(self, numbers: list[float]) -> str:
        play, cycles = _two(numbers, "rock", "end play in inches", _MOST_PLAY_IN, _MOST_CYCLES, 3)
        length_s = self.hands.rock(play * MM_PER_INCH, cycles)
        return f"Out and in {_times(cycles)} at an end play of {play:g} in: {length_s:.0f} s."

    def _lift(self, numbers: list[float]) -> str:
        self.hands.set_up(0.0)
        return "The plunger hangs free."

    def _seat(self, numbers: list[float]) -> str:
        inches, _ = _two(numbers, "seat", "way of the plunger in inches", _MOST_IN, 1, 1)
        self.hands.set_up(inches * MM_PER_INCH)
        return f"The plunger is pushed in by {inches:g} in."

    def _button(self, numbers: list[float]) -> str:
        seconds = numbers[0] if numbers else _SHORT_PRESS_S
        if len(numbers) > 1 or not 0 < seconds <= _LONGEST_PRESS_S:
            raise UsageError(f"write `button`, or `button 2`, at most {_LONGEST_PRESS_S:g} seconds")
        self.hands.press(round(1000 * seconds))
        return "The board's button was pressed."

    def _unplug(self, numbers: list[float]) -> str:
        if not self.cable.plugged:
            raise UsageError("the cable is out already; `plug` puts it back")
        self.cable.pull()
        return "The cable is out."

    def _plug(self, numbers: list[float]) -> str:
        if self.cable.plugged:
            raise UsageError("the cable is in already; `unplug` takes it out")
        self.cable.plug()
        return "The cable is in."


@contextmanager
def practising(port: Path, seed: int, speed: float = 1.0) -> Iterator[Practice]:
    """Keep a simulated board at a port.

    Args:
        port: Where a host finds it; made, and removed at the end.
        seed: Of hands and instruments.
        speed: How many seconds of the work pass in a real second.

    Raises:
        UsageError: When something stands at the port's place, or it cannot be made.
        NoBoardError: When the board's program does not start.
    """
    _make_room(port)
    with tempfile.TemporaryDirectory(prefix="rockhold-practice-") as folder:
        flash = Path(folder)
        (flash / "settings.json").write_text(json.dumps(SETTINGS))
        with UnixBoard(BOARD_NAME, flash / "secret", flash) as board:
            hands = Hands(board, seed, speed)
            with Cable(board.device, port) as cable:
                hands.start()
                yield Practice(cable, hands)
                hands.end()


def _make_room(port: Path) -> None:
    if not os.access(port.absolute().parent, os.W_OK):
        raise UsageError(
            f"no port can be made at {port}: the folder is not there, or you may not write into "
            "it. Choose another place with --port"
        )
    if port.is_symlink() and not port.exists():
        port.unlink()  # left by a practice that was killed
    if port.is_symlink() or port.exists():
        raise UsageError(
            f"{port} is there already: another practice, or a file. End it, or choose another name "
            "with --port"
        )


def _two(
    numbers: list[float], word: str, what: str, most: float, most_times: int, times: int
) -> tuple[float, int]:
    """Return a quantity and how often, from what stands behind a word."""
    if len(numbers) in (1, 2):
        amount, count = (*numbers, times)[:2]
        if 0 < amount <= most and 1 <= count <= most_times:
            return amount, int(count)
    raise UsageError(
        f"behind {word} stands the {what}, at most {most:g}, and if you like how often, at most "
        f"{most_times}"
    )


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"

"""Simulated instruments in front of the real board program, from a moment that somebody chooses."""

import threading
import time
from collections.abc import Iterator, Sequence

from rockhold.simulator.unix_board import Record, UnixBoard
from rockhold.simulator.wires import played

_PRESS_AFTER_US = 100_000


class GaugeBench(threading.Thread):
    """Shows a board what its instruments send, once, and then presses its button.

    Args:
        board: The running board.
        instruments: The records of each, see rockhold.simulator.wires; their time is the board's.
        speed: How many seconds of the job pass in a real second.
        begin: They send from the moment this is set.
    """

    def __init__(
        self,
        board: UnixBoard,
        instruments: Sequence[Iterator[Record]],
        speed: float,
        begin: threading.Event,
    ) -> None:
        super().__init__(daemon=True)
        self._board = board
        self._instruments = instruments
        self._speed = speed
        self._begin = begin

    def run(self) -> None:
        """Show everything, then press the board's button."""
        self._begin.wait()
        try:
            now_us = played(self._board, self._instruments, self._speed)
            self._board.pass_time(now_us + _PRESS_AFTER_US // 2)
            time.sleep(0.3)  # the technician's hand on its way to the button
            self._board.press_button(now_us + _PRESS_AFTER_US)
        except OSError:
            return  # the board was switched off; nobody is left to see the gauge

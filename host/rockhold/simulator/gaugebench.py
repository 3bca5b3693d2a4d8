"""A simulated wheel end, technician and gauge in front of the real board program."""

import threading
import time

from rockhold.measure.trace import Trace
from rockhold.simulator.gauge24 import edges_of, word_of
from rockhold.simulator.simulate import readings
from rockhold.simulator.unix_board import UnixBoard

_TICK_US = 50_000  # board time passes in steps of this size between words


class GaugeBench(threading.Thread):
    """Lets a board see the readings of a trace as a 24-bit gauge would send them.

    Args:
        board: The running board.
        trace: The readings; their time is the board's time.
        speed: How many seconds of the job pass in a real second.
        begin: The gauge sends from the moment this is set.
    """

    def __init__(
        self, board: UnixBoard, trace: Trace, speed: float, begin: threading.Event
    ) -> None:
        super().__init__(daemon=True)
        self._board = board
        self._trace = trace
        self._speed = speed
        self._begin = begin

    def run(self) -> None:
        """Send every reading, then press the board's button."""
        self._begin.wait()
        start_s, first_us = time.monotonic(), int(self._trace.t_us[0])
        now_us = first_us
        try:
            for reading in readings(self._trace):
                t_us = reading.t_us
                while now_us + _TICK_US < t_us:
                    now_us += _TICK_US
                    self._wait(start_s, now_us - first_us)
                    self._board.pass_time(now_us)
                self._wait(start_s, t_us - first_us)
                edges = list(edges_of(t_us, word_of(reading.count, reading.unit == "in")))
                self._board.send_edges(edges)
                now_us = edges[-1][0]
            self._board.pass_time(now_us + _TICK_US)
            time.sleep(0.3)  # the technician's hand on its way to the button
            self._board.press_button(now_us + 2 * _TICK_US)
        except OSError:
            return  # the board was switched off; nobody is left to see the gauge

    def _wait(self, start_s: float, elapsed_us: int) -> None:
        time.sleep(max(0.0, start_s + elapsed_us / 1e6 / self._speed - time.monotonic()))

"""Simulated hands and instruments that do what somebody tells them, in real time.

Indicator and torque adapter send all the time, as real ones do; at rest both show what they showed
last. What the hands are told to do is put between.
"""

import contextlib
import queue
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace

from rockhold.measure.trace import Trace
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.setting import PRELOAD_MM, at_its_place, brought, later
from rockhold.simulator.simulate import simulate
from rockhold.simulator.unix_board import BUTTON, TIME, Record, UnixBoard
from rockhold.simulator.wires import gauge_records, played, text_records
from rockhold.simulator.wrench import Adapter, Pull, TorqueStream, pull_stream

PULL_EVERY_S = 4.0
_BEGIN_US = 1_000_000
_REST_S = 0.25  # how far ahead a resting instrument is planned, and so how soon hands begin
_LEAD_S = 0.5
_AFTER_S = 1.0
_BUTTON_EVERY_US = 50_000
_ADAPTER = Adapter(rate_hz=80)  # slower ones miss the peak of a click
_UNIT = "lbf·ft"
_SET_S = 2.0
_STOP = -round(PRELOAD_MM / SCENARIO.gauge.step_mm)  # the base is set when a practice begins


class Hands(threading.Thread):
    """Hands in front of a running board.

    Args:
        board: The board; its settings are those of the job bench.
        seed: Of the simulation.
        speed: How many seconds of the work pass in a real second.
    """

    def __init__(self, board: UnixBoard, seed: int, speed: float = 1.0) -> None:
        super().__init__(daemon=True)
        self._board = board
        self._seed = seed
        self._speed = speed
        self._moves: queue.SimpleQueue[Callable[[int], Trace]] = queue.SimpleQueue()
        self._streams: queue.SimpleQueue[TorqueStream] = queue.SimpleQueue()
        self._presses: queue.SimpleQueue[int] = queue.SimpleQueue()
        self._ended = threading.Event()

    def rock(self, end_play_mm: float, cycles: int) -> float:
        """Pull out and push in so often; return how long it takes, in seconds."""
        parts = replace(SCENARIO.wheel_end, end_play_mm=end_play_mm)
        person = replace(SCENARIO.technician, cycles=cycles)
        self._seed += 1
        trace, _ = simulate(replace(SCENARIO, wheel_end=parts, technician=person), self._seed)
        self._moves.put(lambda shown: at_its_place(trace, shown, _STOP))
        return float(trace.t_us[-1]) / 1e6

    def set_up(self, pushed_in_mm: float) -> None:
        """Set the indicator's base so that the plunger is pushed in so far; 0 takes it off."""
        end = _STOP + round(pushed_in_mm / SCENARIO.gauge.step_mm)
        self._moves.put(lambda shown: brought(SCENARIO.gauge, shown, end, _SET_S))

    def pull(self, peak_nm: float, count: int) -> float:
        """Pull at the wrench so often; return how long it takes, in seconds."""
        self._seed += 1
        pulls = [Pull(_LEAD_S + PULL_EVERY_S * number, peak_nm) for number in range(count)]
        length_s = pulls[-1].end_s + _AFTER_S
        self._streams.put(pull_stream(pulls, _ADAPTER, length_s, self._seed))
        return length_s

    def press(self, held_ms: int) -> None:
        """Press the board's button for so many milliseconds."""
        self._presses.put(held_ms)

    def end(self) -> None:
        """Let go."""
        self._ended.set()
        self.join()

    def run(self) -> None:
        """Show the instruments to the board until told to end."""
        instruments = (self._indicator(), self._adapter(), self._button())
        with contextlib.suppress(OSError):  # the board was switched off
            played(self._board, instruments, self._speed, lambda: not self._ended.is_set())

    def _indicator(self) -> Iterator[Record]:
        now_us, count = _BEGIN_US, 0
        while True:
            try:
                trace = self._moves.get_nowait()(count)
            except queue.Empty:
                trace = brought(SCENARIO.gauge, count, count, _REST_S)
            trace = later(trace, now_us)
            yield from gauge_records(trace)
            now_us, count = int(trace.t_us[-1]), int(trace.count[-1])

    def _adapter(self) -> Iterator[Record]:
        now_us = _BEGIN_US
        while True:
            try:
                stream = self._streams.get_nowait()
            except queue.Empty:
                self._seed += 1
                stream = pull_stream([], _ADAPTER, _REST_S, self._seed)
            stream = replace(stream, t_us=stream.t_us + now_us)
            yield from text_records(stream, _UNIT)
            now_us = int(stream.t_us[-1]) + round(1e6 / _ADAPTER.rate_hz)

    def _button(self) -> Iterator[Record]:
        now_us = _BEGIN_US
        while True:
            now_us += _BUTTON_EVERY_US
            try:
                yield now_us, BUTTON, self._presses.get_nowait()
            except queue.Empty:
                yield now_us, TIME, 0

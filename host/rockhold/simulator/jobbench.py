"""A simulated technician's hands: as steps begin in a capture, the board's pins see them done.

It reads the capture that is being recorded, as anybody could, and plays the torque pulls or the
rocking that the step just begun asks for.
"""

import json
import threading
import time
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.load import procedure_from_text
from rockhold.procedure.model import Procedure
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.scenario import Gauge, Scenario, Technician, WheelEnd
from rockhold.simulator.setting import PRELOAD_MM, at_its_place, brought, later
from rockhold.simulator.simulate import simulate_motion
from rockhold.simulator.spin import HubMotion, turns
from rockhold.simulator.unix_board import Record, UnixBoard
from rockhold.simulator.wires import (
    INDICATOR_SOURCE,
    MOTION_SOURCE,
    TORQUE_SOURCE,
    gauge_records,
    motion_records,
    played,
    text_records,
)
from rockhold.simulator.wrench import Adapter, Pull, pull_stream

_LOOK_S = 0.02
_TURNS_INTO_S = 1.2
_REST_S = 1.2
_FIRST_PULL_S, _SPACING_S, _AFTER_S = 2.5, 4.0, 1.0
_SWITCHED_ON_S = 2.0
_SET_S = 3.0
SCENARIO = Scenario(
    wheel_end=WheelEnd(runout_mm=0.05, give_mm=0.003),
    technician=Technician(cycles=3),
    gauge=Gauge(unit="in", step_mm=0.0005 * MM_PER_INCH, rate_hz=13.9, jitter=0.004, lag_s=0.05),
)
SETTINGS = {"sources": [INDICATOR_SOURCE, TORQUE_SOURCE]}
# The simulated sensor answers from its first sample on; the board asks again after a second.
_SENSOR = {**MOTION_SOURCE, "silent_ms": 2_000}
WITH_SENSOR = {"sources": [INDICATOR_SOURCE, TORQUE_SOURCE, _SENSOR]}


class JobBench(threading.Thread):
    """Plays what begun steps ask for; the wheel is turned while the nut is pulled.

    The indicator's plunger hangs free until its base is set up.

    Args:
        board: The running board; its settings are SETTINGS or WITH_SENSOR.
        path: The capture that is being recorded.
        end_plays_in: The end play of each attempt, in inches; the last counts for all further ones.
        speed: How many seconds of the job pass in a real second.
        seed: Of the simulation.
        share: Torque that is reached, as a share of the target.
        out_sign: +1 if pulling out raises the indication, -1 where the base sits on the hub.
    """

    def __init__(
        self,
        board: UnixBoard,
        path: Path,
        end_plays_in: Sequence[float] = (0.003,),
        speed: float = 20.0,
        seed: int = 20,
        share: float = 1.01,
        out_sign: int = 1,
    ) -> None:
        super().__init__(daemon=True)
        self._board = board
        self._path = path
        self._end_plays = list(end_plays_in)
        self._speed = speed
        self._seed = seed
        self._share = share
        self._out_sign = out_sign
        self._now_us = 500_000
        self._shown = 0  # by the indicator, in counts; its plunger hangs free at first
        self._at = 0
        self._rest = b""
        self._seen: deque[dict[str, Any]] = deque()
        self._ended = threading.Event()

    def end(self) -> None:
        """Stop looking."""
        self._ended.set()
        self.join()

    def run(self) -> None:
        """Look at the capture until told to end."""
        procedure: Procedure | None = None
        try:
            while not self._ended.is_set():
                self._look()
                if not self._seen:
                    time.sleep(_LOOK_S)
                    continue
                value = self._seen.popleft()
                if procedure is None:
                    procedure = procedure_from_text(value["procedure"]["text"], "the capture")
                    if procedure.steps[0].shows_indication:
                        self._wait(_SWITCHED_ON_S)
                elif value.get("outcome") == "begun" and "carried_from" not in value:
                    self._do(procedure, value["step"])
        except OSError:
            return  # the board was switched off

    def _look(self) -> None:
        """Take in what was written meanwhile."""
        if not self._path.exists():
            return
        with self._path.open("rb") as file:
            file.seek(self._at)
            data = file.read()
        self._at += len(data)
        *lines, self._rest = (self._rest + data).split(b"\n")
        self._seen.extend(json.loads(line) for line in lines if not line.startswith(b'{"record"'))

    def _goes_on(self) -> bool:
        """Say whether the step is still open: a hand stops when the step is closed."""
        self._look()
        return not any(value.get("entry") == "step" for value in self._seen)

    def _wait(self, length_s: float) -> None:
        """Let the indicator show what it shows, and the wheel stand."""
        self._play(self._indicator(length_s), turned=turns((), length_s, self._seed))

    def _do(self, procedure: Procedure, name: str) -> None:
        step = procedure.step(name)
        if step.torque is None and step.end_play is None:
            moved = self._indicator(_SET_S, PRELOAD_MM)
            self._play(moved, turned=turns((), _SET_S, self._seed))
            return
        self._seed += 1
        if step.torque is not None:
            target = step.torque
            count = target.pulls_in_all
            peak_nm = self._share * target.target_nm
            pulls = [Pull(_FIRST_PULL_S + _SPACING_S * n, peak_nm) for n in range(count)]
            length_s = _FIRST_PULL_S + _SPACING_S * count + _AFTER_S
            stream = pull_stream(pulls, Adapter(rate_hz=20), length_s, self._seed)
            stream = replace(stream, t_us=stream.t_us + self._now_us)
            turned = turns(_turned(pulls), length_s, self._seed)
            self._play(self._indicator(length_s), text_records(stream, target.unit), turned=turned)
        else:
            self._shown = self._shown or round(PRELOAD_MM / SCENARIO.gauge.step_mm)
            inches = self._end_plays.pop(0) if len(self._end_plays) > 1 else self._end_plays[0]
            parts = replace(
                SCENARIO.wheel_end, end_play_mm=inches * MM_PER_INCH, out_sign=self._out_sign
            )
            trace, _, motion = simulate_motion(replace(SCENARIO, wheel_end=parts), self._seed)
            trace = at_its_place(trace, self._shown, 0)
            self._shown = int(trace.count[-1])
            turned = hub_motion(motion, self._seed)
            self._play(gauge_records(later(trace, self._now_us)), turned=turned)

    def _indicator(self, length_s: float, pushed_in_mm: float = 0.0) -> Iterator[Record]:
        """Return what the indicator shows that rests, or whose base is being set for so long."""
        before, gauge = self._shown, SCENARIO.gauge
        self._shown += round(pushed_in_mm / gauge.step_mm)
        return gauge_records(later(brought(gauge, before, self._shown, length_s), self._now_us))

    def _play(self, *records: Iterator[Record], turned: HubMotion) -> None:
        seen = motion_records(replace(turned, t_us=turned.t_us + self._now_us))
        self._now_us = played(self._board, (*records, seen), self._speed, self._goes_on) + 100_000
        # The last batch leaves the board only when its time goes on.
        rest = turns((), _REST_S, self._seed)
        still = motion_records(replace(rest, t_us=rest.t_us + self._now_us))
        self._now_us = played(self._board, (still,), self._speed)
        time.sleep(_LOOK_S)


def _turned(pulls: Sequence[Pull]) -> tuple[tuple[float, float, float], ...]:
    """Return (start in s, end in s, turns) of the wheel: once before each pull, and into it."""
    ends = [0.0, *(pull.end_s for pull in pulls)]
    into_s = [pull.start_s + _TURNS_INTO_S for pull in pulls]
    return tuple((begin, end, 1.05) for begin, end in zip(ends, into_s, strict=False))

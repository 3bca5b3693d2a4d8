"""What a board's pins see of simulated instruments, merged into one course of time.

Each function below yields records `(time in µs, kind, value)` for one instrument, in order of
time; `played` merges several and shows them to a running board at a chosen speed:

    text = text_records(stream, "lbf·ft")               # a torque adapter on the text line
    gauge = gauge_records(trace)                        # a 24-bit indicator
    turning = motion_records(motion)                    # the motion sensor on the hub
    played(board, (text, gauge, turning), speed=4.0)

The board must have been told of its sources: put a `settings.json` into the folder that stands for
its flash (TORQUE_SOURCE and MOTION_SOURCE are rows for its "sources").
"""

import time
from collections.abc import Callable, Iterable, Iterator
from heapq import merge
from typing import Any

from rockhold.measure.torque.units import from_nm
from rockhold.measure.trace import Trace
from rockhold.simulator.gauge24 import edges_of, word_of
from rockhold.simulator.simulate import readings
from rockhold.simulator.spin import HubMotion
from rockhold.simulator.unix_board import BYTE, EDGE, SAMPLE, TIME, WORD, Record, UnixBoard
from rockhold.simulator.wrench import TorqueStream

INDICATOR_SOURCE: dict[str, Any] = {"kind": "clocked24", "name": "indicator"}
TORQUE_SOURCE: dict[str, Any] = {"kind": "ascii_line", "name": "torque", "baud": 115_200}
MOTION_SOURCE: dict[str, Any] = {"kind": "motion", "name": "hub"}
BITS_IN_BYTE = 10  # start, eight data, stop
_TICK_US = 20_000  # the board's time passes in steps no longer than this


def text_records(
    stream: TorqueStream, unit: str = "N·m", places: int = 2, baud: int = 115_200
) -> Iterator[Record]:
    """Yield the bytes of an adapter's text lines, for example `+271.16 Nm`, CR, LF.

    A line that would begin before the one before it has left is not sent, as on a real line.

    Args:
        stream: What the adapter reads.
        unit: One of rockhold.measure.torque.units.UNITS.
        places: Digits behind the point.
        baud: Speed of the line.
    """
    byte_us = BITS_IN_BYTE * 1_000_000 / baud
    name = unit.replace("·", "").replace("lbf", "lb")
    free_us = 0.0
    for t_us, torque_nm in zip(stream.t_us.tolist(), stream.torque_nm.tolist(), strict=True):
        if t_us < free_us:
            continue
        line = f"{from_nm(torque_nm, unit):+.{places}f} {name}\r\n".encode()
        for at, value in enumerate(line):
            yield round(t_us + at * byte_us), BYTE, value
        free_us = t_us + len(line) * byte_us


def word_records(
    stream: TorqueStream, steps_per_nm: float = 4000.0, zero: int = 0
) -> Iterator[Record]:
    """Yield the words of a 24-bit bridge converter on a torque transducer.

    Args:
        stream: What acts on the transducer.
        steps_per_nm: Converter steps for one N·m.
        zero: The converter's value with no load.
    """
    for t_us, torque_nm in zip(stream.t_us.tolist(), stream.torque_nm.tolist(), strict=True):
        value = max(-(1 << 23), min((1 << 23) - 1, round(zero + steps_per_nm * torque_nm)))
        yield t_us, WORD, value & 0xFFFFFF


def motion_records(motion: HubMotion) -> Iterator[Record]:
    """Yield the samples of the motion sensor's queue, 100 a second."""
    rows = zip(motion.t_us.tolist(), motion.raw_turn(), motion.raw_shock(), strict=True)
    for t_us, turn, shock in rows:
        yield t_us, SAMPLE, (turn & 0xFFFF) | (shock & 0xFFFF) << 16


def gauge_records(trace: Trace) -> Iterator[Record]:
    """Yield the clock edges of a 24-bit indicator."""
    for reading in readings(trace):
        word = word_of(reading.count, reading.unit == "in")
        for t_us, levels in edges_of(reading.t_us, word):
            yield t_us, EDGE, levels


def played(
    board: UnixBoard,
    instruments: Iterable[Iterator[Record]],
    speed: float = 1.0,
    keep_on: Callable[[], bool] = lambda: True,
) -> int:
    """Show the instruments to a board and return the board's time at the end, in µs.

    Args:
        board: A running board.
        instruments: Records of each, in order of time.
        speed: Seconds of the job in a real second.
        keep_on: Asked again and again; once False, nothing more is shown.
    """
    began_s, first_us, now_us = time.monotonic(), None, 0
    waiting: list[Record] = []
    for record in merge(*instruments):
        if first_us is None:
            first_us = now_us = record[0]
        while record[0] >= now_us + _TICK_US:
            if not keep_on():
                return now_us
            now_us += _TICK_US
            waiting.append((now_us, TIME, 0))
            board.send(waiting)
            waiting.clear()
            real_s = (now_us - first_us) / 1e6 / speed
            time.sleep(max(0.0, began_s + real_s - time.monotonic()))
        waiting.append(record)
    board.send(waiting)
    return waiting[-1][0] if waiting else now_us

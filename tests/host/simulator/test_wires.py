"""Simulated instruments in front of the real board program, read back from the capture."""

import json
import threading
from itertools import islice

import numpy as np
import pytest

from rockhold.capture.channels import KNOCK, TORQUE, TURNING, channel_of
from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.links.serial_port import SerialLink
from rockhold.measure.torque.units import LBF_FT
from rockhold.procedure.endplay import procedure_text
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.spin import Spin, spin
from rockhold.simulator.unix_board import UnixBoard
from rockhold.simulator.wires import (
    INDICATOR_SOURCE,
    MOTION_SOURCE,
    TORQUE_SOURCE,
    motion_records,
    played,
    text_records,
    word_records,
)
from rockhold.simulator.wrench import Adapter, Pull, pull_stream
from rockwire import messages as m
from support import needs_micropython

WORK = pull_stream([Pull(1.0, 271.0)], Adapter(rate_hz=80), 4.0, seed=1)


def recorded(tmp_path, sources, instruments):
    """Record what the instruments show and return the capture."""
    flash = tmp_path / "flash"
    flash.mkdir()
    (flash / "settings.json").write_text(json.dumps({"sources": sources}))
    begin, ended, events = threading.Event(), threading.Event(), []

    def watch(message):
        begin.set()
        if isinstance(message, m.Event):
            events.append(message)

    with UnixBoard(flash=flash) as board:

        def work():
            begin.wait()
            end_us = played(board, instruments, speed=8.0)
            board.pass_time(end_us + 20_000)
            board.press_button(end_us + 40_000)
            ended.set()

        threading.Thread(target=work, daemon=True).start()
        path = tmp_path / "job.capture"
        record(
            Ways(lambda: SerialLink(board.device)),
            Job("A. Miller", "end play", procedure_text()),
            path,
            Onlooker(watch, bool),
        )
        assert ended.is_set()
    return read_capture(path), events


@needs_micropython
def test_text_lines_and_turning_come_through_the_real_board_as_they_were(tmp_path):
    motion = spin(Spin(), 0.2, 4.0, seed=2)
    capture, events = recorded(
        tmp_path,
        [INDICATOR_SOURCE, TORQUE_SOURCE, MOTION_SOURCE],
        (text_records(WORK, LBF_FT, 1), motion_records(motion)),
    )
    torque = channel_of(capture, TORQUE)
    assert torque.name == "torque"
    # The first line is given up: the board cannot know whether it heard its begin.
    assert len(torque.t_us) >= len(WORK.t_us) - 2
    at = np.searchsorted(WORK.t_us, torque.t_us - 200)
    assert np.abs(torque.t_us - WORK.t_us[at]).max() <= 200  # a byte takes 87 µs
    # A tenth of a lbf·ft, rounded, is at most 0.068 N·m away.
    assert np.abs(torque.value - WORK.torque_nm[at]).max() < 0.069
    (pull,) = torque_trace_of(capture).pulls
    assert pull.peak_nm == pytest.approx(WORK.truth[0].peak_nm, rel=0.005)
    assert pull.click is True
    turning = channel_of(capture, TURNING)
    assert turning.value.max() == pytest.approx(motion.turn_deg_s.max(), abs=2)
    assert channel_of(capture, KNOCK).value.max() > 0
    wrong = {m.EVENTS.get(event.code) for event in events}
    assert wrong <= {"gauge_silent", "gauge_heard", "frame_cut", "button"}


@needs_micropython
def test_converter_words_come_through_the_real_board_with_its_calibration(tmp_path):
    source = {
        "kind": "bridge24",
        "name": "transducer",
        "unit": "Nm",
        "places": 2,
        "zero": 1200,
        "span": [10_000, 400_000],
    }
    words = word_records(WORK, steps_per_nm=4000, zero=1200)
    capture, _ = recorded(tmp_path, [INDICATOR_SOURCE, source], (words,))
    torque = channel_of(capture, TORQUE)
    assert len(torque.t_us) == len(WORK.t_us) - 1  # the first value came before its gain was set
    assert np.array_equal(torque.t_us, WORK.t_us[1:])
    assert np.abs(torque.value - WORK.torque_nm[1:]).max() <= 0.005 + 1e-9


def test_a_line_too_slow_for_the_rate_leaves_lines_out_instead_of_mixing_them():
    fast = pull_stream([], Adapter(rate_hz=500), 1.0, seed=1)
    times = [t_us for t_us, _, _ in text_records(fast, baud=9_600)]
    assert times == sorted(times)
    assert 12 * 60 <= len(times) <= 12 * 81  # 12 bytes of 1.04 ms a line
    first = bytes(value for _, _, value in islice(text_records(WORK, LBF_FT, 1), 11))
    assert first.endswith(b" lbft\r\n")

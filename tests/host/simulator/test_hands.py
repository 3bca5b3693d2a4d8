"""Hands that are told what to do, in front of the real board program."""

import pytest

from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.capture.trace import measured_trace
from rockhold.demo.practice import BOARD_NAME, practising
from rockhold.errors import UsageError
from rockhold.evidence.result import limits_of
from rockhold.links.serial_port import SerialLink
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.torque.units import to_nm
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import procedure_text
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.upkeep.setup import free_console
from rockwire import messages as m
from support import needs_micropython

pytestmark = needs_micropython

JOB = Job(technician="A. Tester", procedure_name="end play", procedure_text=procedure_text())


def test_a_capture_holds_what_the_hands_were_told_and_a_pulled_cable_costs_nothing(tmp_path):
    port, path, said = tmp_path / "port", tmp_path / "a.capture", []
    told = [(2.0, "rock 0.004 2"), (9.0, "unplug"), (26.0, "pull 100 2"), (37.0, "button 2")]
    with practising(port, 20, speed=30.0) as practice:

        def stored(message):
            while told and isinstance(message, m.Readings) and message.t_us[-1] / 1e6 > told[0][0]:
                said.append(practice.do(told.pop(0)[1]))

        def say(text):
            if "lost. Waiting" in text:
                said.append(practice.do("plug"))

        ways = Ways(lambda: SerialLink(str(port)), wait_s=10.0)
        record(ways, JOB, path, Onlooker(stored, lambda: False, say))
    assert not told
    assert "The cable is in." in said
    assert not port.is_symlink()
    capture = read_capture(path)
    assert capture.header["board"]["name"] == BOARD_NAME
    result = measure_trace(measured_trace(capture), limits_of(capture), GaugeFacts())
    assert abs(result.end_play_mm - 0.004 * MM_PER_INCH) < result.expanded_mm
    pulls = torque_trace_of(capture).pulls
    assert [pull.peak_nm for pull in pulls] == pytest.approx([to_nm(100, "lbf·ft")] * 2, rel=0.03)


def test_the_board_tells_each_hold(tmp_path):
    port, path = tmp_path / "port", tmp_path / "a.capture"
    told = [(2.0, "rock 0.003"), (60.0, "button 2")]
    with practising(port, 20, speed=30.0) as practice:

        def stored(message):
            while told and isinstance(message, m.Readings) and message.t_us[-1] / 1e6 > told[0][0]:
                practice.do(told.pop(0)[1])

        ways = Ways(lambda: SerialLink(str(port)), wait_s=10.0)
        record(ways, JOB, path, Onlooker(stored, lambda: False, lambda _: None))
    capture = read_capture(path)
    trace = measured_trace(capture)
    holds = [mark for mark in trace.marks if mark.code == "hold_told"]
    assert [mark.value for mark in holds] == list(range(1, len(holds) + 1))
    assert len(holds) >= 6
    # What a result makes of them is in host/measure/test_work_end.py: here the board's clock runs
    # so fast that a busy computer tells a hold late.
    assert trace.t_us[-1] > holds[5].t_us


def test_the_indicator_is_taken_off_and_set_again(tmp_path):
    port, path, seen = tmp_path / "port", tmp_path / "a.capture", []
    told = [(1.0, "lift"), (6.0, "seat 0.01"), (11.0, "button 2")]
    with practising(port, 20, speed=30.0) as practice:

        def stored(message):
            if isinstance(message, m.Readings) and message.source == 0:
                seen.extend(zip(message.t_us, message.count, strict=True))
                while told and seen[-1][0] / 1e6 > told[0][0]:
                    practice.do(told.pop(0)[1])

        ways = Ways(lambda: SerialLink(str(port)), wait_s=10.0)
        record(ways, JOB, path, Onlooker(stored, lambda: False, lambda _: None))
    shown_in = [count * 0.0005 for _, count in seen]
    assert shown_in[0] == 0.0
    free_in = min(shown_in)
    assert free_in == pytest.approx(-0.8 / MM_PER_INCH, abs=0.0005)
    assert shown_in[-1] == pytest.approx(free_in + 0.01)


@pytest.mark.parametrize(
    "line",
    [
        "dance",
        "seat",
        "seat 1",
        "seat x",
        "rock",
        "rock 1",
        "rock x",
        "pull -2",
        "pull 100 30",
        "button 60",
        "plug",
    ],
)
def test_what_hands_cannot_do_is_said(practice, line):
    with pytest.raises(UsageError):
        practice.do(line)


@pytest.fixture(scope="module")
def practice(tmp_path_factory):
    with practising(tmp_path_factory.mktemp("practice") / "port", 1) as one:
        yield one


def test_a_board_that_was_ended_from_outside_is_told_and_its_port_goes(tmp_path):
    with practising(tmp_path / "port", 1) as one:
        free_console(str(one.cable.path))
        one.cable.join(5.0)
        with pytest.raises(UsageError, match="ended from outside"):
            one.do("button")
        assert not one.cable.path.is_symlink()


def test_nothing_is_overwritten_by_the_port(tmp_path):
    path = tmp_path / "port"
    path.write_text("mine")
    with pytest.raises(UsageError, match="is there already"), practising(path, 1):
        pass
    assert path.read_text() == "mine"
    with pytest.raises(UsageError, match="no port can be made"):
        practising(tmp_path / "nowhere" / "port", 1).__enter__()

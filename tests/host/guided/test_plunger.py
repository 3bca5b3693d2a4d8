"""Setting the indicator up: where its plunger hangs free is noted by a key, its way in is told."""

from dataclasses import replace

import numpy as np
import pytest

from rockhold.capture.measured import readings_from
from rockhold.guided import keys as k
from rockhold.guided.means import Means
from rockhold.guided.plunger import NOT_STILL, NOTED
from rockhold.guided.run import JobRun
from rockhold.guided.screen import screen_of
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.procedure.load import load_procedure
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.setting import at_its_place, brought, later
from rockhold.simulator.simulate import simulate
from rockwire import messages as m
from rockwire.units import HALF_THOU

PROCEDURE = load_procedure("end-play-and-spin")
INDICATOR, END_PLAY = PROCEDURE.steps[:2]
GAUGE = SCENARIO.gauge
BATCH = 3


class Bench:
    """A guided job, and the readings that were fed to it."""

    def __init__(self):
        self.run = JobRun(PROCEDURE, Means(by="A. Tester"))
        self.messages = []
        self.now_us = 1_000_000

    def show(self, trace):
        moved = later(trace, self.now_us)
        times, counts = moved.t_us.tolist(), moved.count.tolist()
        for at in range(0, len(times), BATCH):
            rows = tuple(times[at : at + BATCH]), tuple(counts[at : at + BATCH])
            self.messages.append(m.Readings(0, HALF_THOU, *rows))
            self.run.feed(self.messages[-1])
        self.now_us = times[-1]

    def closed(self, step):
        return [e for e in self.run.take_entries() if e["step"] == step and e["outcome"] != "begun"]


@pytest.fixture
def bench():
    return Bench()


def test_the_note_waits_for_a_plunger_that_stands_still(bench):
    assert "[P] the plunger hangs free" in screen_of(bench.run).keys
    bench.run.press(k.FREE)
    assert bench.run.said == NOT_STILL  # nothing was heard of the gauge yet
    bench.show(brought(GAUGE, 40, 0, 1.0))
    bench.run.press(k.FREE)
    assert bench.run.said == NOT_STILL
    bench.show(brought(GAUGE, 0, 0, 1.2))
    bench.run.press(k.FREE)
    assert bench.run.said == NOTED
    bench.show(brought(GAUGE, 0, 60, 2.0))
    screen = screen_of(bench.run)
    assert (screen.big, screen.unit) == ("+0.0300", "in")
    assert any("stood at +0.0000 in" in line for line in screen.body)


def test_too_little_preload_is_told_once_and_the_person_decides(bench):
    bench.show(brought(GAUGE, 0, 0, 1.5))
    bench.run.press(k.FREE)
    bench.show(brought(GAUGE, 0, 5, 2.0))
    bench.run.press(k.GO)
    assert "by 0.0025 in (0.064 mm) only" in bench.run.said
    assert "0.0039 in (0.100 mm) or more" in bench.run.said
    bench.show(brought(GAUGE, 5, 5, 1.0))
    assert "only" in bench.run.said  # still true
    bench.run.press(k.GO)
    (entry,) = bench.closed(INDICATOR.id)
    assert entry["values"]["preload_mm"] == pytest.approx(0.0635)
    assert entry["attempt"] == 1


def test_what_was_told_of_the_preload_goes_when_the_plunger_is_pushed_in_further(bench):
    bench.show(brought(GAUGE, 0, 0, 1.5))
    bench.run.press(k.FREE)
    bench.show(brought(GAUGE, 0, 5, 2.0))
    bench.run.press(k.GO)
    bench.show(brought(GAUGE, 5, 60, 2.0))
    assert bench.run.said == ""
    bench.run.press(k.GO)
    (entry,) = bench.closed(INDICATOR.id)
    assert entry["values"]["preload_mm"] == pytest.approx(0.762)


def test_without_the_note_nothing_is_asked_and_nothing_claimed(bench):
    bench.show(brought(GAUGE, 0, 5, 2.0))
    bench.run.press(k.GO)
    (entry,) = bench.closed(INDICATOR.id)
    assert entry["values"] == {"answer": "yes"}


@pytest.mark.parametrize(
    ("pushed_in", "found"), [(3, {"contact_lost"}), (8, {"low_preload"}), (60, set())]
)
def test_what_is_shown_after_a_note_is_what_the_readings_give_again(bench, pushed_in, found):
    bench.show(brought(GAUGE, 0, 0, 1.5))
    bench.run.press(k.FREE)
    bench.show(brought(GAUGE, 0, pushed_in, 3.0))
    bench.run.press(k.GO)
    if bench.run.phase == "ask" and bench.run.step is INDICATOR:
        bench.run.press(k.GO)
    bench.run.press(k.GO)  # begin
    parts = replace(SCENARIO.wheel_end, end_play_mm=0.006 * 25.4)
    trace, _ = simulate(replace(SCENARIO, wheel_end=parts), 8)
    bench.show(at_its_place(trace, pushed_in, 0))
    bench.run.press(k.GO)
    bench.run.press(k.GO)
    (entry,) = bench.closed(END_PLAY.id)
    values = entry["values"]
    window_us = (values["from_us"], values["to_us"])
    again = readings_from(bench.messages, "all", window_us, values["free_stop_us"])
    assert again.free_stop_mm == 0.0
    result = measure_trace(again, END_PLAY.end_play, GaugeFacts())
    assert result == bench.run.result
    assert {f.code for f in result.findings} & {"contact_lost", "low_preload"} == found


def test_a_sitting_that_is_gone_on_with_still_knows_the_note(bench):
    bench.show(brought(GAUGE, 0, 0, 1.5))
    bench.run.press(k.FREE)
    bench.show(brought(GAUGE, 0, 8, 3.0))
    bench.run.press(k.GO)
    bench.run.press(k.GO)  # yes, with that little preload
    (entry,) = bench.closed(INDICATOR.id)
    first = bench.run.plunger
    again = Bench()
    again.run.plunger.take_up([None, *bench.messages], entry["values"]["free_stop_us"])
    assert again.run.plunger.noted == first.noted == "+0.0000 in"
    assert again.run.plunger.earlier == first.earlier
    assert again.run.plunger.pushed_in_mm() == pytest.approx(8 * 0.0127)


def test_a_long_wait_before_the_note_costs_no_memory(bench):
    for _ in range(20):
        bench.show(brought(GAUGE, 0, 0, 3.0))
    assert len(bench.run.plunger.earlier) <= 2 + GAUGE.rate_hz / BATCH
    assert np.ptp([one.t_us[0] for one in bench.run.plunger.earlier]) < 1.5e6

"""What a result says of one job made by hand: which findings, when, in which words."""

from dataclasses import replace

import numpy as np
import pytest

from host.measure.jobs import LIMITS, METRIC, NO_CERTIFICATE, codes, measured
from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import HELD_ONCE, STOOD_STILL, measure_trace
from rockhold.measure.plunger import NOT_NOTED
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.measure.unheld import HARDLY_ROCKED

STEP_MM, BEGIN_S, ROCK_S, HOLD_S = 0.00127, 100.0, 3.0, 1.5
VISIT_S = ROCK_S + HOLD_S
PLAY = 60  # counts: 0.0762 mm, the middle of the band


def counts_of(sides, drift=0.0, held=None, tremor=0.8, play=PLAY):
    """Return exact counts of visits to the sides (1 out, -1 in), each rocked and then held."""
    t = np.arange(round(VISIT_S * 20)) / 20
    rock = 14 * np.sin(2 * np.pi * 0.9 * t)
    rows = []
    for k, side in enumerate(sides):
        swing = rock if held is not None and k not in held else np.where(t < ROCK_S, rock, 0)
        rows.append(side * play / 2 + swing)
    exact = np.concatenate(rows)
    exact += np.random.default_rng(9).normal(0, tremor, len(exact))
    return exact + drift * np.arange(len(exact)) / len(exact)


def trace_of(exact, step_mm=STEP_MM):
    t_us = np.arange(len(exact), dtype=np.int64) * 50_007 + round(BEGIN_S * 1e6)
    return Trace(t_us, np.rint(exact).astype(np.int64), (UnitSpan(0, "mm", step_mm),))


def result_of(exact, limits=LIMITS, gauge=NO_CERTIFICATE, **changed):
    return measure_trace(trace_of(exact), replace(limits, **changed), gauge)


OUT_IN = (1, -1) * 4


def test_a_clean_job_is_told_as_it_was_made():
    result = result_of(counts_of(OUT_IN))
    assert (result.verdict, result.cycles, codes(result)) == ("accept", 4, set())
    assert [hold.side for hold in result.holds] == ["out", "in"] * 4
    for k, hold in enumerate(result.holds):
        assert hold.start_s == pytest.approx(BEGIN_S + k * VISIT_S + ROCK_S, abs=0.3)
        assert hold.end_s == pytest.approx(BEGIN_S + (k + 1) * VISIT_S, abs=0.7)
        assert hold.level_mm == pytest.approx(STEP_MM * OUT_IN[k] * PLAY / 2, abs=STEP_MM)
    assert (result.step_mm, result.rate_hz) == (STEP_MM, pytest.approx(20, rel=1e-3))
    assert result.end_play_mm == pytest.approx(PLAY * STEP_MM, abs=STEP_MM)
    assert abs(result.drift_mm) < STEP_MM
    guard = LIMITS.guard_factor * result.expanded_mm
    assert result.accept_mm == pytest.approx(
        (LIMITS.band_low_mm + guard, LIMITS.band_high_mm - guard)
    )


@pytest.mark.parametrize("shift_s", [-60.0, 3600.0])
def test_when_it_was_done_is_of_no_matter(shift_s):
    trace = trace_of(counts_of(OUT_IN, drift=15, held=(0, 1, 2, 4, 5, 6, 7)))
    limits = replace(LIMITS, cycles_asked=5, drift_limit_mm=1e-6)
    was = measure_trace(trace, limits, NO_CERTIFICATE)
    later = measure_trace(
        replace(trace, t_us=trace.t_us + round(shift_s * 1e6)), limits, NO_CERTIFICATE
    )
    assert later.end_play_mm == pytest.approx(was.end_play_mm, abs=1e-9)
    assert (later.verdict, later.sentence) == (was.verdict, was.sentence)
    told = [(f.code, pytest.approx(f.at_s + shift_s), f.text) for f in was.findings]
    assert [(f.code, f.at_s, f.text) for f in later.findings] == told
    assert {"drifting", "few_cycles", "no_hold"} <= codes(was)


def test_which_way_the_gauge_counts_and_where_its_zero_lies_is_of_no_matter():
    trace = trace_of(counts_of(OUT_IN, drift=40))
    was = measure_trace(trace, LIMITS, NO_CERTIFICATE)
    moved = measure_trace(replace(trace, count=trace.count + 900), LIMITS, NO_CERTIFICATE)
    mirrored = replace(trace, count=-trace.count)
    turned = measure_trace(mirrored, replace(LIMITS, out_sign=-1), NO_CERTIFICATE)
    for got in (moved, turned):
        assert (got.end_play_mm, got.u_mm) == pytest.approx((was.end_play_mm, was.u_mm), abs=1e-6)
        assert [hold.side for hold in got.holds] == [hold.side for hold in was.holds]
        assert (got.verdict, codes(got)) == (was.verdict, codes(was))
    assert moved.drift_mm == pytest.approx(was.drift_mm, abs=1e-6)
    assert turned.drift_mm == pytest.approx(-was.drift_mm, abs=1e-6)


def test_a_drift_is_told_from_its_limit_on():
    exact = counts_of(OUT_IN, drift=40)  # counts over the whole of it
    drift_mm = result_of(exact).drift_mm
    assert drift_mm == pytest.approx(40 * STEP_MM * 7 / 8, rel=0.1)  # first hold to last
    for limit_mm, told in ((0.99 * drift_mm, True), (1.01 * drift_mm, False)):
        result = result_of(exact, drift_limit_mm=limit_mm)
        found = [f for f in result.findings if f.code == "drifting"]
        assert bool(found) is told
        for f in found:
            assert f.at_s == result.holds[0].start_s
            assert f.text.endswith(f" {drift_mm:+.4f} mm in all.")
    down = result_of(-exact, drift_limit_mm=0.99 * drift_mm)
    assert "drifting" in codes(down)
    # A drift that may be chance is none: holds that scatter by a thousandth.
    rest = np.repeat(np.random.default_rng(2).normal(0, 20, 8), round(VISIT_S * 20))
    assert "drifting" not in codes(result_of(counts_of(OUT_IN) + rest, drift_limit_mm=1e-6))


@pytest.mark.parametrize("key", ["cycles_required", "cycles_asked"])
def test_too_few_cycles_are_told_at_the_last_hold_with_the_visits_that_were_not_held(key):
    exact = counts_of(OUT_IN, held=(0, 1, 2, 3, 4, 6, 7))
    result = result_of(exact, **{key: 5})
    told = {f.code: f for f in result.findings}
    assert set(told) == {"few_cycles", "no_hold"}
    assert told["few_cycles"].at_s == result.holds[-1].end_s
    assert told["no_hold"].at_s == pytest.approx(BEGIN_S + 6 * VISIT_S, abs=0.3)
    assert len(result.holds) == 7
    if key == "cycles_asked":
        assert result.verdict == "accept"
        return
    needed = f"Found {result.cycles}, at least 5 are needed."
    assert told["few_cycles"].text.endswith(needed)
    assert (result.verdict, result.end_play_mm) == (None, None)
    assert (result.step_mm, result.rate_hz) == (STEP_MM, pytest.approx(20, rel=1e-3))
    last = [f for f in result.findings if f.code == "no_hold"][-1]
    assert result.sentence == f"Not measured: {last.text}"


def test_one_side_held_once_may_be_the_wheel_left_alone():
    result = result_of(counts_of((1, -1, 1)))
    texts = [f.text for f in result.findings if f.code == "one_sided"]
    assert texts == [HELD_ONCE]
    assert result.sentence == f"Not measured: {HELD_ONCE}"
    assert [f.at_s for f in result.findings if f.code == "one_sided"] == [result.holds[0].start_s]


@pytest.mark.parametrize(("out_sign", "side"), [(1, "out"), (-1, "out")])
def test_one_side_alone_is_called_out(out_sign, side):
    result = result_of(counts_of((1,) * 6), out_sign=out_sign)
    assert "one_sided" in codes(result)
    assert result.holds
    assert {hold.side for hold in result.holds} == {side}
    (at_s,) = (f.at_s for f in result.findings if f.code == "one_sided")
    assert at_s == result.holds[0].start_s


def test_ten_readings_over_some_time_are_the_least():
    few = trace_of(np.arange(9.0))
    result = measure_trace(few, LIMITS, NO_CERTIFICATE)
    told = ("no_hold", BEGIN_S, "There are only 9 readings.")
    assert [(f.code, f.at_s, f.text[-26:]) for f in result.findings] == [told]
    assert result.sentence == "Not measured. There are only 9 readings."
    ten = measure_trace(trace_of(np.arange(10.0)), LIMITS, NO_CERTIFICATE)
    assert "only" not in ten.sentence
    at_once = replace(trace_of(np.arange(10.0)), t_us=np.full(10, 7_000_000))
    result = measure_trace(at_once, LIMITS, NO_CERTIFICATE)
    assert result.sentence == "Not measured. All 10 readings carry the same time."
    assert [f.at_s for f in result.findings] == [7.0]
    none = measure_trace(trace_of(np.array([])), LIMITS, NO_CERTIFICATE)
    assert [f.at_s for f in none.findings] == [0.0]


def test_facts_about_the_gauge_are_told_at_the_first_reading():
    gauge = GaugeFacts(overdue=True, name="bench gauge 3")
    result = result_of(counts_of(OUT_IN), gauge=gauge)
    (found,) = result.findings
    assert (found.code, found.at_s) == ("tool_overdue", BEGIN_S)
    assert found.text.endswith("have it calibrated. It is bench gauge 3.")
    (nameless,) = result_of(counts_of(OUT_IN), gauge=GaugeFacts(overdue=True)).findings
    assert nameless.text.endswith("have it calibrated.")
    # A fifth of the band's width is the largest count that is not called coarse.
    for share, coarse in ((0.199, False), (0.201, True)):
        high_mm = LIMITS.band_low_mm + STEP_MM / share
        found = result_of(counts_of(OUT_IN), band_high_mm=high_mm).findings
        assert [f.at_s for f in found if f.code == "coarse_gauge"] == [BEGIN_S] * coarse


@pytest.mark.parametrize(("gap_s", "silent_s", "told"), [
    (0.3, 0.29, False), (0.3, 0.31, True), (0.1, 0.17, False), (0.1, 0.18, True),
])  # fmt: skip
def test_silence_is_told_beyond_the_limit_and_three_and_a_half_spacings(gap_s, silent_s, told):
    trace = trace_of(counts_of(OUT_IN))
    t_us = trace.t_us.copy()
    t_us[41:] += round(silent_s * 1e6) - 50_007
    limits = replace(LIMITS, gap_s=gap_s)
    found = measure_trace(replace(trace, t_us=t_us), limits, NO_CERTIFICATE).findings
    gaps = [(f.at_s, f.text[-18:]) for f in found if f.code == "data_gap"]
    assert gaps == [(pytest.approx(BEGIN_S + 2, abs=1e-3), f"Silent for {silent_s:.2f} s.")] * told


def test_with_a_frozen_gauge_nothing_is_accepted_and_it_is_said_first():
    exact = counts_of(OUT_IN)
    exact[300:420] = exact[300]
    measured = result_of(exact)
    assert "gauge_frozen" in codes(measured)
    assert measured.verdict == "undecided"
    result = result_of(exact, cycles_required=9)
    (first,) = (f for f in result.findings if f.code == "gauge_frozen")
    assert result.sentence == f"Not measured: {first.text}"
    assert result.findings[-1].code != "gauge_frozen"


def quick(rock_s, hold_s=1.2):
    """Return counts of visits with little time for rocking."""
    t = np.arange(round((rock_s + hold_s) * 20)) / 20
    swing = np.where(t < rock_s, 9 * np.sin(2 * np.pi * 1.2 * t), 0)
    exact = np.concatenate([side * PLAY / 2 + swing for side in OUT_IN])
    return exact + np.random.default_rng(1).normal(0, 0.6, len(exact))


def test_what_cannot_be_ruled_out_is_said_only_with_an_accept():
    hardly = result_of(quick(1.2))
    assert hardly.verdict == "accept"
    assert hardly.sentence.endswith(HARDLY_ROCKED.text)
    assert "rocked for hardly" not in result_of(quick(2.5)).sentence
    wide = {"band_low_mm": 0.2, "band_high_mm": 0.3}
    rejected, slowly = result_of(quick(1.2), **wide), result_of(quick(2.5), **wide)
    assert rejected.verdict == slowly.verdict == "reject"
    assert rejected.sentence[-40:] == slowly.sentence[-40:]
    coarse = trace_of(counts_of(OUT_IN, play=8, tremor=0.3), step_mm=0.01)
    wide = replace(LIMITS, band_low_mm=0.02, band_high_mm=0.14)
    assert measure_trace(coarse, wide, NO_CERTIFICATE).sentence.endswith(NOT_NOTED.text)


def test_where_the_wheel_turned_is_told_with_a_sensor_only():
    trace = trace_of(counts_of(OUT_IN))
    t_us = np.arange(trace.t_us[0], trace.t_us[-1], 20_000)
    in_visit_s = (t_us / 1e6 - BEGIN_S) % VISIT_S
    rate = np.where(in_visit_s < ROCK_S, 60 * np.sin(2 * np.pi * 0.9 * in_visit_s), 0.0)
    result = measure_trace(trace, LIMITS, NO_CERTIFICATE, Turning.of(t_us, rate))
    assert (result.verdict, codes(result)) == ("accept", set())
    assert len(result.turned) == 8
    for k, (from_s, to_s) in enumerate(result.turned):
        assert from_s == pytest.approx(BEGIN_S + k * VISIT_S, abs=0.1)
        assert to_s == pytest.approx(BEGIN_S + k * VISIT_S + ROCK_S, abs=0.1)
    for hold, (_, to_s) in zip(result.holds, result.turned, strict=True):
        assert hold.start_s >= to_s
    assert measure_trace(trace, LIMITS, NO_CERTIFICATE).turned == ()


def test_readings_that_arrived_together_are_readings():
    trace = trace_of(counts_of(OUT_IN))
    t_us = trace.t_us.copy()
    t_us[1] = t_us[0]
    assert measure_trace(replace(trace, t_us=t_us), LIMITS, NO_CERTIFICATE).verdict == "accept"
    t_us[1:] = t_us[-1]
    twice = t_us[[0] * (len(t_us) - 1) + [-1]]
    for two_times in (t_us, twice):
        result = measure_trace(replace(trace, t_us=two_times), LIMITS, NO_CERTIFICATE)
        assert "the same time" not in result.sentence


def test_a_coarse_gauge_that_may_have_been_frozen_leaves_it_undecided():
    # Nothing was found for sure in this job, and it did freeze.
    result = measured(METRIC, 2012, "gauge_frozen")[2]
    assert (result.verdict, codes(result)) == ("undecided", set())
    assert result.sentence.endswith(STOOD_STILL.text)

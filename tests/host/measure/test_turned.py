"""A motion sensor on the hub tells a hold from rocking that hardly moves the indication."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from statistics import fmean, median_high, pstdev

import numpy as np
import pytest

from host.measure.jobs import ALL, COARSE, FINE, LIMITS, NO_CERTIFICATE, codes, with_sensor
from host.measure.situations import one_of
from host.measure.test_unheld import some_job, visits_by_the_rule
from rockhold.measure.choice import choose
from rockhold.measure.holds import Hold
from rockhold.measure.hub.turning import Turning
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.measure.turned import while_still, without_turned

SEEDS = range(8100, 8106)


def result_of(trace, turning):
    return measure_trace(trace, LIMITS, NO_CERTIFICATE, turning)


@pytest.mark.parametrize("misfortune", ["no_hold", "short_hold"])
@pytest.mark.parametrize("gauge", ALL)
def test_a_wheel_that_was_not_held_is_never_measured(gauge, misfortune):
    for seed in SEEDS:
        trace, turning, _ = with_sensor(gauge, seed, misfortune, bias_deg_s=seed % 30 - 15.0)
        result = result_of(trace, turning)
        assert result.verdict is None
        assert codes(result) & {"no_hold", "short_hold"}, seed


def test_without_the_sensor_some_of_these_pass():
    # Else the tests above would show nothing.
    jobs = [with_sensor(COARSE, seed, "no_hold") for seed in SEEDS]
    assert any(result_of(trace, None).verdict is not None for trace, _, _ in jobs)


@pytest.mark.parametrize("gauge", ALL)
def test_a_good_job_is_measured_as_well_as_without(gauge):
    for seed in SEEDS:
        trace, turning, truth = with_sensor(gauge, seed, bias_deg_s=-12.0)
        result, alone = result_of(trace, turning), result_of(trace, None)
        assert not codes(result) & {"no_hold", "short_hold", "few_cycles"}, seed
        assert abs(result.end_play_mm - truth.end_play_mm) <= 1.5 * result.expanded_mm
        assert result.cycles == alone.cycles


def test_a_sensor_on_the_spindle_changes_nothing():
    for seed in SEEDS:
        trace, turning, _ = with_sensor(COARSE, seed, "no_hold")
        trembles = np.random.default_rng(seed).normal(0, 1.0, len(turning.t_s))
        still = Turning.of((turning.t_s * 1e6).astype(np.int64), trembles)
        assert result_of(trace, still) == result_of(trace, None)


def test_where_the_sensor_was_silent_the_readings_alone_count():
    trace, turning, truth = with_sensor(FINE, 8101)
    first = truth.holds[0]
    heard = (turning.t_s < first.start_s - 1) | (turning.t_s > first.end_s + 1)
    part = Turning(turning.t_s[heard], turning.rate_deg_s[heard], turning.bias_deg_s)
    assert result_of(trace, part).to_json() == result_of(trace, turning).to_json()


def test_one_visit_that_was_rocked_on_is_named_and_left_out():
    trace, turning, truth = with_sensor(COARSE, 8102)
    hold = truth.holds[2]
    rate = turning.rate_deg_s.copy()
    during = (turning.t_s > hold.start_s - 1) & (turning.t_s < hold.end_s + 0.2)
    rate[during] = 60 * np.sin(2 * np.pi * 0.8 * turning.t_s[during])
    result = result_of(trace, Turning(turning.t_s, rate, 0.0))
    (found,) = [found for found in result.findings if found.code == "no_hold"]
    assert hold.start_s < found.at_s < hold.end_s + 2
    assert "motion sensor" in found.text
    assert not any(
        min(one.end_s, hold.end_s) - max(one.start_s, hold.start_s) > 0.5 for one in result.holds
    )
    assert result.end_play_mm is not None
    for asked, measured in ((result.cycles, True), (result.cycles + 1, False)):
        limits = replace(LIMITS, cycles_required=asked)
        again = measure_trace(trace, limits, NO_CERTIFICATE, Turning(turning.t_s, rate, 0.0))
        assert (again.end_play_mm is not None) is measured
        assert "few_cycles" not in codes(again)  # the sensor saw why they are too few


def test_the_wheel_at_rest_before_and_after_is_not_shown_as_held():
    trace, turning, _ = with_sensor(FINE, 8103, "no_hold")
    result = result_of(trace, turning)
    assert result.holds == ()
    # Where it turned is told for the pictures: nearly all the time of the work.
    worked_s = max(end - start for start, end in result.turned)
    assert worked_s > 0.5 * (trace.t_s[-1] - trace.t_s[0])
    assert result_of(trace, None).turned == ()


# --- the rules by their words, on jobs drawn at random --------------------------------------------


def together_s(span, from_s, to_s):
    return min(span[1], to_s) - max(span[0], from_s)


def heard_by_the_rule(turning, hold):
    inside = [t for t in turning.t_s.tolist() if hold.start_s <= t < hold.end_s]
    times = [hold.start_s, *inside, hold.end_s]
    return len(inside) >= 2 and all(b - a <= 0.5 for a, b in pairwise(times))


def stood_by_the_rule(turning, hold, least_s):
    if not heard_by_the_rule(turning, hold):
        return True  # not heard: nobody can say that it did not stand
    return any(
        end - start >= least_s and together_s((start, end), hold.start_s, hold.end_s) >= least_s / 2
        for start, end in turning.still_spans().tolist()
    )


def saw_by_the_rule(turning, holds):
    """Return whether the sensor saw the wheel rocked, from 5 s before the first hold on."""
    from_s, to_s = holds[0].start_s - 5, holds[-1].end_s
    rates = [
        abs(rate)
        for t, rate in zip(turning.t_s, turning.rate_deg_s, strict=True)
        if from_s <= t < to_s
    ]
    return max(rates, default=0) >= 20


def turned_by_the_rule(axis, holds, turning, limits):
    """Return the holds that are left, and (code, time) of visits in which it never stood still."""
    seemed = choose(axis, holds).holds
    if not seemed or not saw_by_the_rule(turning, seemed):
        return holds, None
    least_s = max(0.8 * limits.hold_s - 1.5 * axis.spacing_s, 0.4 * limits.hold_s)
    stood = [hold for hold in holds if stood_by_the_rule(turning, hold, least_s)]
    visits, found, work = visits_by_the_rule(axis, seemed), [], []
    for i, (first, end) in enumerate(visits):
        held = [hold for hold in stood if hold.first < end and first < hold.end]
        work += held
        outside = end <= seemed[0].first or first >= seemed[-1].end
        if held or outside:
            continue
        until = visits[i + 1][0] if i + 1 < len(visits) else len(axis.t_s)
        still_s = max(
            (together_s(span, axis.t_s[first], axis.t_s[until - 1])
             for span in turning.still_spans().tolist()), default=0.0
        )  # fmt: skip
        if still_s < least_s:
            code = "short_hold" if still_s >= 0.4 * limits.hold_s else "no_hold"
            found.append((code, axis.t_s[end - 1]))
    return [hold for hold in stood if hold in work] if found else stood, found


def still_by_the_rule(axis, turning, hold):
    """Return the part of a hold in the still time that has most of it: its ends and its level."""
    spans = turning.still_spans().tolist()
    part = range(hold.first, hold.end)
    if heard_by_the_rule(turning, hold):
        span = max(spans, key=lambda span: together_s(span, hold.start_s, hold.end_s))
        part = [i for i in part if span[0] <= axis.t_s[i] <= span[1]]
    if len(part) < 2 or len(part) == hold.end - hold.first:
        return hold.first, hold.end, hold.level, hold.spread, hold.n
    raw = axis.count[hold.first : hold.end].tolist()
    middle = [raw[0], *(sorted(raw[i - 1 : i + 2])[1] for i in range(1, len(raw) - 1)), raw[-1]]
    shown = [int(axis.count[i]) for i in part]
    reach = max(middle) - min(middle) + 1
    kept = [count for count in shown if abs(count - median_high(shown)) <= reach]
    return part[0], part[-1] + 1, fmean(kept), pstdev(kept), len(kept)


def some_turning(rng, axis, holds):
    """Return what a sensor may have seen: rocking around holds that were held, or were not."""
    t_s = np.arange(axis.t_s[0], axis.t_s[-1], one_of(rng, (0.02, 0.05)))
    fastest = one_of(rng, (15, 19, 21, 60, 60))
    rate = fastest * np.sin(2 * np.pi * 0.8 * t_s)
    for hold in holds:
        if rng.random() < 0.7:
            still_s = rng.uniform(0.1, 2) * (hold.end_s - hold.start_s)
            from_s = hold.end_s + rng.uniform(-1, 0.4) - still_s
            rate[(t_s >= from_s) & (t_s <= from_s + still_s)] = 0.0
    heard = np.ones(len(t_s), dtype=bool)
    for _ in range(int(rng.integers(3))):
        from_s = rng.uniform(t_s[0], t_s[-1])
        heard &= (t_s < from_s) | (t_s > from_s + rng.uniform(0.2, 3))
    return Turning(t_s[heard], rate[heard], 0.0)


def timed(axis, holds):
    """Return holds with the times, the level and the spread of their readings."""
    return [
        Hold(
            hold.first,
            hold.end,
            float(axis.t_s[hold.first]),
            float(axis.t_s[hold.end - 1]),
            float(axis.count[hold.first : hold.end].mean()),
            0.1 * axis.digit,
            hold.end - hold.first,
            rocked=True,
        )
        for hold in holds
    ]


def test_the_rules_hold_by_hold():
    seen = Counter()
    for seed in range(250):
        rng = np.random.default_rng(seed)
        axis, holds, limits = some_job(rng)
        holds = timed(axis, holds)
        turning = some_turning(rng, axis, holds)
        left, found = without_turned(axis, holds, turning, limits)
        told = found and [(finding.code, finding.at_s) for finding in found]
        assert (left, told) == turned_by_the_rule(axis, holds, turning, limits), seed
        if found:
            assert all(finding.text.endswith("saw the wheel turn.") for finding in found)
        seen["asked" if found is not None else "not asked"] += 1
        seen.update(code for code, _ in told or ())
        seen["left out"] += len(left) < len(holds)
        if not len(turning.still_spans()):
            continue
        for hold, still in zip(holds, while_still(axis, tuple(holds), turning), strict=True):
            first, end, level, spread, n = still_by_the_rule(axis, turning, hold)
            assert (still.first, still.end, still.n) == (first, end, n), seed
            assert (still.level, still.spread) == pytest.approx((level, spread), abs=1e-6), seed
            assert still.rocked
            seen["cut"] += (first, end) != (hold.first, hold.end)
    assert {"asked", "not asked", "no_hold", "short_hold", "left out", "cut"} == set(seen)
    assert min(seen.values()) >= 8, seen  # each comes about


def test_without_a_sensor_nothing_is_asked():
    axis, holds, limits = some_job(np.random.default_rng(1))
    assert without_turned(axis, list(holds), None, limits) == (list(holds), None)


def test_a_wheel_that_was_rocked_under_a_gauge_that_stood_still_is_not_measured():
    t_us = 50_000 * np.arange(800, dtype=np.int64)
    trace = Trace(t_us, np.full(800, 7), (UnitSpan(0, "mm", 0.01),))
    rocked = Turning.of(t_us, 60 * np.sin(np.arange(800) / 4))
    assert result_of(trace, rocked).verdict is None

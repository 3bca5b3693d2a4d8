"""Lost contact, on coordinates made by hand."""

from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np
import pytest

from host.measure.jobs import COARSE, METRIC, codes, measured
from host.measure.situations import situation
from host.measure.test_disturb import LIMITS, chosen, job
from rockhold.measure.choice import Choice
from rockhold.measure.contact import (
    flat_between,
    one_side_changed,
    visited_between,
    without_far,
)
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold, find_holds
from rockhold.measure.hub.turning import Turning
from rockhold.measure.still import still_side


def test_a_clean_job_shows_nothing():
    axis = job()
    holds, _ = find_holds(axis, LIMITS)
    assert still_side(axis, holds) == ([], False)
    assert not one_side_changed(axis, holds, chosen(axis))
    assert not flat_between(axis, holds, chosen(axis))
    assert without_far(axis, holds) == (holds, [])


def test_free_stop():
    axis = job(lambda exact: np.maximum(exact, -22))
    holds, _ = find_holds(axis, LIMITS)
    assert [f.code for f in still_side(axis, holds)[0]] == ["contact_lost"]


def test_far_plateau_is_taken_out():
    def away(exact):
        exact[-60:] = -2500
        return exact

    holds, _ = find_holds(job(away), LIMITS)
    near, found = without_far(job(away), holds)
    assert len(near) == len(holds) - 1
    assert [f.code for f in found] == ["contact_lost"]


def test_a_side_that_moves_inward_for_good():
    def late_stop(exact):
        exact[300:] = np.maximum(exact[300:], -12)
        return exact

    axis = job(late_stop)
    holds, _ = find_holds(axis, LIMITS)
    found = one_side_changed(axis, holds, chosen(axis)) or flat_between(axis, holds, chosen(axis))
    assert [f.code for f in found or still_side(axis, holds)[0]] == ["contact_lost"]


@pytest.mark.parametrize("seed", [50074, 50101, 50200, 50284])
def test_a_side_that_was_once_deeper_stands_at_the_stop_since(seed):
    # The first visit is whole, all later ones to that side stop short; the wheel left alone before
    # the work happens to rest where the stop is.
    result = measured(METRIC, seed, "contact_lost")[2]
    assert "contact_lost" in codes(result)
    assert result.verdict != "accept"


# --- the rules by their words, hold after hold, on situations drawn at random about their bounds --


def mean(values):
    return sum(values) / len(values)


def spread(values):
    return max(values) - min(values)


def long_s(hold):
    return hold.end_s - hold.start_s


def moved_inward_by_the_rule(axis, holds, choice):
    if not choice.two_sided:
        return None
    pairs = zip(choice.holds, choice.upper, strict=True)
    side = {h.first: bool(up) for h, up in pairs if long_s(h) >= 0.7}
    apart = max(1.6 * axis.digit, 0.015 / axis.step_mm)
    beyond = set()
    known = [hold.level for hold in choice.holds]
    for hold in holds:
        if hold.first in side or long_s(hold) < 1.0:
            continue
        if hold.level >= max(known) + apart or hold.level <= min(known) - apart:
            beyond.add(hold.first)
            side[hold.first] = hold.level > max(known)
    for upper in (True, False):
        same = [hold for hold in holds if side.get(hold.first) is upper]
        others = [hold.level for hold in holds if side.get(hold.first) is (not upper)]
        if len(same) < 2 or len(others) < 2:
            continue
        inward = -1 if upper else 1
        steps = [inward * (b.level - a.level) for a, b in pairwise(same)]
        cut = steps.index(max(steps)) + 1
        before, after = same[:cut], same[cut:]
        if len(before) <= 2 and any(hold.first in beyond for hold in before):
            before = [hold for hold in before if hold.first in beyond]
        elif len(before) >= 2 and before[0] is holds[0] and not holds[0].rocked:
            before = before[1:]
        was, now = [hold.level for hold in before], [hold.level for hold in after]
        moved = inward * (mean(now) - mean(was))
        still = all(hold.spread <= 0.3 * axis.digit for hold in after)
        if still and moved >= apart and moved >= 4 * max(map(spread, (was, now, others))):
            return after[0].start_s
    return None


def flat_by_the_rule(axis, holds, choice):
    if not choice.two_sided or len(choice.holds) < 3:
        return None
    levels = [hold.level for hold in choice.holds]
    edge = max(0.15 * spread(levels), 1.5 * axis.digit)
    least_s = 1.5 if axis.digit * axis.step_mm > 0.004 else 1.2
    flat = [
        hold
        for hold in holds[:-1]
        if all(hold.first != other.first for other in choice.holds)
        and hold.first > choice.holds[0].end
        and hold.spread <= 0.05 * axis.digit
        and long_s(hold) >= least_s
        and min(levels) + edge < round(hold.level) < max(levels) - edge
    ]
    sides = [[h.level for h, up in zip(choice.holds, choice.upper, strict=True) if up is u]
             for u in map(np.bool_, (True, False))]  # fmt: skip
    apart = mean(sides[0]) - mean(sides[1]) if all(sides) else 0.0
    if not flat or (len(flat) == 1 and apart < 6 * axis.digit):
        return None
    return flat[0].start_s


def far_by_the_rule(axis, holds):
    levels = [hold.level for hold in holds]
    if len(holds) < 4:
        return holds, None
    flat = [hold.spread <= 0.1 * axis.digit and long_s(hold) >= 2.0 for hold in holds]
    far = [abs(level - median(levels)) > 0.6 / axis.step_mm for level in levels]
    for i, level in enumerate(levels):
        if not flat[i] or far[i]:
            continue
        same = [j for j, other in enumerate(levels) if abs(other - level) <= 2 * axis.digit]
        others = [levels[j] for j in range(len(holds)) if j not in same and not far[j]]
        if len(others) >= 3 and same == list(range(same[0], same[-1] + 1)):
            beyond = max(min(others) - level, level - max(others))
            far[i] = beyond > spread(others) and beyond > 0.1 / axis.step_mm
    if not any(far) or 3 * sum(far) > len(holds):
        return holds, None
    near = [hold for hold, away in zip(holds, far, strict=True) if not away]
    hung = [h for h, away, still in zip(holds, far, flat, strict=True) if away and still]
    hung = [hold for hold in hung if hold.first > near[0].first]
    return near, hung[0].start_s if hung else None


def at(found):
    assert all(finding.code == "contact_lost" for finding in found)
    return found[0].at_s if found else None


def test_the_rules_hold_by_hold():
    moved = flat = far = 0
    for seed in range(1800):
        axis, holds, choice = situation(seed)
        if choice.holds:
            expected = moved_inward_by_the_rule(axis, holds, choice)
            assert at(one_side_changed(axis, holds, choice)) == expected, seed
            moved += expected is not None
        between = flat_by_the_rule(axis, holds, choice)
        assert at(flat_between(axis, holds, choice)) == between, seed
        near, hung = far_by_the_rule(axis, holds)
        kept, found = without_far(axis, holds)
        assert (kept, at(found)) == (near, hung), seed
        flat += between is not None
        far += hung is not None
    assert min(moved, flat, far) >= 8  # each comes about


def levels(*parts, spread=0.0):
    """Return holds of a coarse gauge, from (level in counts, length in seconds)."""
    held, at_s = [], 0.0
    for level, length_s in parts:
        first, end = round(10 * at_s), round(10 * (at_s + length_s))
        held.append(Hold(first, end, at_s, at_s + length_s, level, spread, end - first))
        at_s += length_s + 0.5
    return held


COARSE_AXIS = Coordinate(np.arange(600) / 10, np.zeros(600, dtype=np.int64), 0.01, 1.0, 0.1)
OUT, IN, STOP = 20.0, 10.0, 15.0


def test_one_count_between_the_sides_again_and_again_is_the_free_stop():
    parts = [(OUT, 5), (IN, 4), (OUT, 5), (STOP, 4), (OUT, 5), (STOP, 6)]
    (found,) = visited_between(COARSE_AXIS, levels(*parts), None)
    assert (found.code, found.at_s) == ("contact_lost", 15.5)
    # A wheel left alone rests there before the work and after it.
    rests = [(STOP, 3), (OUT, 5), (IN, 4), (OUT, 5), (IN, 4), (STOP, 6)]
    assert not visited_between(COARSE_AXIS, levels(*rests), None)
    # A pause on the way is short, and a side that creeps by a count is a side.
    pauses = [(OUT, 5), (STOP, 1.5), (IN, 4), (STOP, 1.5), (OUT, 5), (IN, 4)]
    assert not visited_between(COARSE_AXIS, levels(*pauses), None)
    creeps = [(OUT, 5), (IN, 4), (OUT, 5), (IN + 1, 4), (OUT, 5), (IN + 1, 4)]
    assert not visited_between(COARSE_AXIS, levels(*creeps), None)
    # A hand moves a fine gauge, and a hold as well.
    assert not visited_between(COARSE_AXIS, levels(*parts, spread=0.4), None)
    fine = replace(COARSE_AXIS, step_mm=0.00127)
    assert not visited_between(fine, levels(*parts), None)


def test_a_motion_sensor_sees_that_the_wheel_was_not_left_alone():
    parts = [(OUT, 5), (IN, 4), (OUT, 5), (IN, 4), (OUT, 5), (STOP, 6)]
    held = levels(*parts)
    t_s = np.arange(0, 35, 0.02)
    rocked = Turning(t_s, 60 * np.sin(5 * t_s) * (t_s < held[-1].start_s + 3), 0.0)
    (found,) = visited_between(COARSE_AXIS, held, rocked)
    assert found.at_s == held[-1].start_s
    alone = Turning(t_s, 60 * np.sin(5 * t_s) * (t_s < held[-1].start_s), 0.0)
    assert not visited_between(COARSE_AXIS, held, alone)
    assert not visited_between(COARSE_AXIS, held, None)


@pytest.mark.parametrize("gauge", [METRIC, COARSE])
def test_most_of_what_shows_of_a_lost_contact_is_found_with_a_coarse_gauge_too(gauge):
    seeds = range(50_200, 50_220)
    found = [codes(measured(gauge, seed, "contact_lost")[2]) for seed in seeds]
    assert sum("contact_lost" in one for one in found) >= 11


def test_of_two_holds_nobody_can_say_what_lies_between_them():
    held = levels((OUT, 5), (IN - 8, 4), (STOP, 6), (OUT, 5))
    two = Choice((held[0], held[1]), np.array([True, False]), True, 1)
    assert not flat_between(COARSE_AXIS, held, two)
    three = Choice((held[0], held[1], held[3]), np.array([True, False, True]), True, 1)
    (found,) = flat_between(COARSE_AXIS, held, three)
    assert found.at_s == held[2].start_s

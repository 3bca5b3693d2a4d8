"""A knock that one hold alone shows, and what may look like one, on jobs made by hand."""

from collections import Counter
from dataclasses import replace
from statistics import fmean, median

import numpy as np
import pytest

from host.measure.jobs import LIMITS, NO_CERTIFICATE
from host.measure.situations import one_of
from host.measure.worked import COARSE_KIND, FINE_KIND, cycles, in_finer_counts, job
from rockhold.measure.astray import astray
from rockhold.measure.choice import choose
from rockhold.measure.holds import find_holds, shortest_s
from rockhold.measure.measure import measure_trace

FIRST_HOLD, SECOND_ROCK, LAST_ROCK, LAST_HOLD = 2, 3, 11, 12
ROCKED_FAR = replace(COARSE_KIND, swing=2.0)  # so that the counts show the rocking
KINDS = (FINE_KIND, ROCKED_FAR)
# By 0.03 mm: further than an unseated wheel end, and no other side.
OUT = {FINE_KIND: 24.0, ROCKED_FAR: 3.4}


WAVERS_MM = 0.04  # so that nothing there is quiet


def whole(kind, rest=0.1, after=0.2):
    """Return a job of three cycles with the wheel left alone before and after."""
    return job(
        kind,
        [("rest", rest * kind.side, 2.0), *cycles(kind), ("rest", after * kind.side, 2.0)],
    )


def bare(kind):
    """Return three cycles with hardly a moment around them."""
    return job(kind, [("rest", 50.0, 0.5), *cycles(kind, 3, 50.0), ("rest", 50.0, 0.3)])


def knocks(spoilt):
    """Return the readings at which a base was knocked, looked for alone."""
    axis = spoilt.axis()
    holds, _ = find_holds(axis, LIMITS)
    return readings(spoilt, astray(axis, holds, choose(axis, holds), LIMITS))


def readings(spoilt, found):
    assert all(f.code == "base_moved" and f.text for f in found)
    return [round(f.at_s * spoilt.kind.rate_hz) for f in found]


def told(spoilt):
    """Return when a knock is told in the end; the end play of the other holds is right."""
    result = measure_trace(spoilt.trace(), LIMITS, NO_CERTIFICATE)
    assert result.end_play_mm == pytest.approx(spoilt.end_play_mm, abs=0.6 * spoilt.kind.step_mm)
    return readings(spoilt, [f for f in result.findings if f.code == "base_moved"])


def last_moved(kind, by, share=0.1):
    """Return a job whose base was knocked in the last rock, and the reading."""
    clean = bare(kind)
    at = clean.at(LAST_ROCK, share)
    return clean.moved(at, len(clean.exact), by), at


def first_moved(kind, by, share=0.0):
    """Return a job whose base was knocked after the first hold, and the reading."""
    clean = bare(kind)
    at = clean.at(SECOND_ROCK, share)
    return clean.moved(0, at, by), at


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_of_an_honest_job(kind):
    # The wheel rests between the sides before the work and after it, or where it was pushed last.
    for rest in (-1.0, -0.5, 0.0, 0.5, 1.0):
        for after in (-1.0, 0.0, 0.5):
            assert knocks(whole(kind, rest, after)) == []
            assert told(whole(kind, rest, after)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_last_hold_beyond_the_sides(kind):
    spoilt, _ = last_moved(kind, -OUT[kind])
    hold = spoilt.at(LAST_HOLD)
    assert spoilt.at(LAST_ROCK) <= told(spoilt)[0] <= hold + kind.rate_hz / 3
    assert len(told(spoilt)) == 1
    assert hold - kind.rate_hz / 3 <= knocks(spoilt)[0] <= hold + kind.rate_hz / 3


@pytest.mark.parametrize("kind", KINDS)
def test_first_hold_beyond_the_sides(kind):
    spoilt, at = first_moved(kind, OUT[kind])
    assert spoilt.at(FIRST_HOLD, 0.8) <= knocks(spoilt)[0] <= spoilt.at(SECOND_ROCK)
    assert len(told(spoilt)) == 1
    assert told(spoilt)[0] <= at


def test_where_nobody_rocked_before_the_work_the_gauge_was_still_set_up():
    spoilt, _ = first_moved(FINE_KIND, OUT[FINE_KIND])
    quiet = spoilt.stood(spoilt.at(1), spoilt.at(FIRST_HOLD), spoilt.exact[spoilt.at(FIRST_HOLD)])
    assert knocks(spoilt)
    assert knocks(quiet) == []


def test_of_a_silence_before_the_first_hold_nothing_is_known():
    spoilt, _ = first_moved(FINE_KIND, OUT[FINE_KIND])
    axis = spoilt.axis()
    holds, _ = find_holds(axis, LIMITS)
    choice = choose(axis, holds)
    assert astray(axis, holds, choice, LIMITS)
    silent = replace(axis, t_s=axis.t_s + 2 * (np.arange(len(axis.t_s)) >= holds[0].first))
    holds = [replace(h, start_s=h.start_s + 2, end_s=h.end_s + 2) for h in holds]
    assert astray(silent, holds, choice, LIMITS) == []


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("beyond_mm", [-0.05, 0.05])
def test_last_hold_between_the_sides_after_a_kick(kind, beyond_mm):
    spoilt, at = last_moved(kind, OUT[kind], share=0.1)

    def kicked(long_s):
        end = at + round(long_s * kind.rate_hz)
        kick = (
            np.sign(beyond_mm) * kind.side
            + (beyond_mm + WAVERS_MM * (np.arange(end - at) % 2 - 0.5)) / kind.step_mm
        )
        exact = spoilt.exact.copy()
        exact[at:end] = 50 + kick
        # Then the wheel stands: no rocking tells of the new place.
        exact[end : spoilt.at(LAST_HOLD)] = exact[spoilt.at(LAST_HOLD)]
        return replace(spoilt, exact=exact)

    assert knocks(kicked(0.2)) == [at]
    assert told(kicked(0.2)) == [at]
    assert knocks(kicked(1.4)) == [at]
    assert knocks(kicked(1.7)) == []  # so long is no kick


@pytest.mark.parametrize("kind", KINDS)
def test_first_hold_between_the_sides_before_a_kick(kind):
    spoilt, at = first_moved(kind, -OUT[kind])
    kick = spoilt.stood(at, at + 3, 50 + 0.05 / kind.step_mm + kind.side)
    assert knocks(kick) == [at]
    assert told(kick) == [at]


def test_between_the_sides_the_rocking_about_the_new_place_tells():
    spoilt, _ = last_moved(FINE_KIND, OUT[FINE_KIND], share=0.2)
    hold = spoilt.at(LAST_HOLD)
    assert hold <= knocks(spoilt)[0] <= hold + 6
    assert len(told(spoilt)) == 1
    spoilt, _ = first_moved(FINE_KIND, -OUT[FINE_KIND])
    assert spoilt.at(FIRST_HOLD, 0.8) <= knocks(spoilt)[0] <= spoilt.at(SECOND_ROCK)
    assert len(told(spoilt)) == 1


@pytest.mark.parametrize(
    ("swing", "found"), [(0.0, False), (0.4, False), (0.8, True), (1.2, True), (2.0, False)]
)
def test_a_wheel_moved_less_or_more_than_rocked_was_let_go_or_handled(swing, found):
    spoilt, _ = last_moved(FINE_KIND, OUT[FINE_KIND], share=0.2)
    first, end = spoilt.at(LAST_ROCK, 0.3), spoilt.at(LAST_HOLD)
    rock = spoilt.kind.swing * np.sin(np.linspace(0, 3.5 * np.pi, end - first))
    exact = spoilt.exact.copy()
    exact[first:end] = spoilt.exact[end + 5] + swing * rock
    assert bool(knocks(replace(spoilt, exact=exact))) == found


def test_a_wheel_that_came_from_one_way_only_was_let_go():
    spoilt, _ = last_moved(FINE_KIND, OUT[FINE_KIND], share=0.2)
    first, end = spoilt.at(LAST_ROCK, 0.3), spoilt.at(LAST_HOLD)
    rock = spoilt.kind.swing * np.sin(np.linspace(0, 3.5 * np.pi, end - first))
    exact = spoilt.exact.copy()
    exact[first:end] = spoilt.exact[end + 5] + np.abs(rock) * 2
    assert knocks(replace(spoilt, exact=exact)) == []


def test_a_coarse_gauge_does_not_show_the_rocking_that_would_tell():
    spoilt, _ = last_moved(ROCKED_FAR, OUT[ROCKED_FAR])
    assert knocks(spoilt) == []


@pytest.mark.parametrize("kind", KINDS)
def test_the_gauge_taken_off(kind):
    for far_mm, found in ((0.45, True), (0.55, False)):
        pieces = [*cycles(kind), ("rest", far_mm / kind.step_mm, 2.0)]
        assert bool(knocks(job(kind, pieces))) == found


@pytest.mark.parametrize("kind", KINDS)
def test_a_stray_hold_in_the_middle_of_the_work_is_for_others_to_judge(kind):
    axis = bare(kind).axis()
    holds, _ = find_holds(axis, LIMITS)
    choice = choose(axis, holds)
    for i in (2, 3):
        stray = [replace(h, level=h.level - OUT[kind] * (k == i)) for k, h in enumerate(holds)]
        keep = np.arange(6) != i
        kept = tuple(h for k, h in enumerate(choice.holds) if k != i)
        others = replace(choice, holds=kept, upper=choice.upper[keep])
        assert astray(axis, stray, others, LIMITS) == []


def test_a_short_rest_is_no_hold():
    spoilt, _ = last_moved(FINE_KIND, -OUT[FINE_KIND])
    axis = spoilt.axis()
    holds, _ = find_holds(axis, LIMITS)
    choice = choose(axis, holds)
    assert astray(axis, holds, choice, LIMITS)
    assert astray(axis, holds, choice, replace(LIMITS, hold_s=4.0)) == []
    assert astray(axis, holds, replace(choice, two_sided=False), LIMITS) == []
    few = replace(choice, holds=choice.holds[:3], upper=choice.upper[:3])
    assert astray(axis, holds, few, LIMITS) == []


# --- the rule by its words, on jobs drawn at random -----------------------------------------------


def knock_by_the_rule(axis, holds, choice):
    """Return the reading of a knock, and what told it."""
    rows = list(zip(axis.t_s.tolist(), axis.count.tolist(), strict=True))
    sides = [
        [h.level for h, up in zip(choice.holds, choice.upper, strict=True) if up == side]
        for side in (True, False)
    ]
    levels = sides[0] + sides[1]
    if not choice.two_sided or len(levels) < 4:
        return None, "few"
    squares = [(level - fmean(side)) ** 2 for side in sides for level in side]
    apart = max(0.012 / axis.step_mm, 1.6 * axis.digit, 5 * fmean(squares) ** 0.5)
    low, high, last = min(levels), max(levels), choice.holds[-1]
    coarse, why = axis.digit * axis.step_mm > 0.004, "none"

    def strokes(hold):
        return [c for t, c in rows[: hold.first + 1] if t >= hold.start_s - 1.2]

    usual = median(max(s) - min(s) for s in map(strokes, choice.holds))
    for hold in holds:
        early = hold.end <= choice.holds[1].first
        if not early and hold.first <= last.first:
            continue
        if hold.end_s - hold.start_s < shortest_s(axis, LIMITS):
            continue
        far = abs(hold.level - (low + high) / 2) > 0.5 / axis.step_mm
        if far or min(abs(hold.level - level) for level in levels) <= apart:
            continue
        why = "let go"
        later = [h.first for h in choice.holds if h.first >= hold.end]
        between = range(hold.end, min(later)) if early else range(last.end, hold.first)
        room = max(0.02 / axis.step_mm, 2.5 * axis.digit)
        least, most = min(low, hold.level) - room, max(high, hold.level) + room
        kick = [i for i in between if not least <= rows[i][1] <= most]
        kick = kick if len(kick) * axis.spacing_s <= 1.5 else []
        outside = not low - apart <= hold.level <= high + apart
        near = max(0.35 * (high - low), 2 * apart)
        rock = [
            abs(c - hold.level) <= near for t, c in rows[: hold.first] if t >= hold.start_s - 1.5
        ]
        worked = hold.rocked and bool(rock) and sum(rock) >= 0.8 * len(rock)
        mine = strokes(hold)
        both = min(max(mine) - hold.level, hold.level - min(mine)) >= 0.15 * usual
        alike = hold.rocked and not coarse and usual >= 4 * axis.digit and both
        alike &= 0.5 * usual <= max(mine) - min(mine) <= 1.5 * usual
        end = "early" if early else "late"
        if (outside or kick) and (worked or not early):
            return kick[0] if kick else hold.end if early else hold.first, end
        if alike:
            return kick[0] if kick else hold.end if early else hold.first, f"{end}, rocked"
    return None, why


def some_job(rng):
    kind = one_of(rng, (FINE_KIND, *KINDS))
    kind = replace(kind, swing=kind.swing * rng.uniform(0.4, 1.3))
    kind = replace(kind, side=kind.side * one_of(rng, (0.5, 0.8, 1, 1, 1.3)))
    rests = rng.uniform(-1.2, 1.2, 2) * kind.side
    n = int(rng.integers(1, 4)) if rng.random() < 0.2 else 3
    pieces = [
        ("rest", rests[0], one_of(rng, (0.3, 0.3, 1.5))),
        *cycles(kind, n, 0.0, 1.6, 1.4),
        ("rest", rests[1], one_of(rng, (0.3, 0.3, 1.5))),
    ]
    drawn = job(kind, pieces, seed=int(rng.integers(999)))
    by = (
        one_of(rng, (-1, 1))
        * one_of(rng, (0.01, 0.025, 0.03, 0.3))
        * rng.uniform(0.6, 1.4)
        / kind.step_mm
    )
    if rng.random() < 0.5:
        at = drawn.at(3, rng.uniform(-0.2, 0.9))
        drawn = drawn.moved(0, at, by)
    else:
        at = drawn.at(len(pieces) - 3, one_of(rng, (0.05, 0.1, 0.2, 0.5, 0.9)))
        drawn = drawn.moved(at, len(drawn.exact), by)
    if rng.random() < 0.25:
        end = at + round(one_of(rng, (0.1, 0.4, 1.3, 1.7)) * kind.rate_hz)
        drawn = drawn.moved(at, end, rng.normal(0, 0.2) / kind.step_mm)
    return drawn


def test_the_rule_hold_by_hold():
    seen = Counter()
    for seed in range(240):
        spoilt = some_job(np.random.default_rng([seed, 5]))
        axis = in_finer_counts(spoilt.axis()) if seed % 3 == 0 else spoilt.axis()
        holds, _ = find_holds(axis, LIMITS)
        choice = choose(axis, holds)
        at, why = knock_by_the_rule(axis, holds, choice)
        found = readings(spoilt, astray(axis, holds, choice, LIMITS))
        assert found == ([] if at is None else [at]), seed
        seen[why] += 1
    assert len(seen) == 7
    assert min(seen.values()) >= 4  # each comes about

"""Rocking to the last moment against holding, on coordinates made by hand."""

from collections import Counter
from dataclasses import replace
from statistics import median, pvariance

import numpy as np
import pytest

from host.measure.situations import GAUGES, one_of
from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.rhythm import rhythm_kept
from rockhold.measure.unheld import calmed, unheld, visits_by_level, visits_without
from rockhold.procedure.endplay import shipped_limits

LIMITS = shipped_limits()
FINE, COARSE = (0.00127, 20), (0.01, 10)  # step in mm, readings a second


def axis_of(values, gauge=FINE, scatter=0.0):
    """Return the readings of some exact values in steps, with a scatter that has no rhythm."""
    step_mm, rate_hz = gauge
    exact = np.array(values) + np.random.default_rng(2).normal(0, 1, len(values)) * scatter
    count = np.rint(exact).astype(np.int64)
    return Coordinate(np.arange(len(count)) / rate_hz, count, step_mm, 1.0, 1 / rate_hz)


def chosen(holds, two_sided=True):
    """Return a choice of some holds; their sides do not matter here."""
    return Choice(tuple(holds), np.arange(len(holds)) % 2 == 0, two_sided, len(holds) // 2)


def whole(axis):
    """Return the choice of one hold that spans all readings."""
    return chosen([Hold(0, len(axis.count), 0.0, float(axis.t_s[-1]), 0.0, 0.0, len(axis.count))])


def rocked(hold_s, width=12.0, visits=6, apart=80, rock_hz=0.8, gauge=FINE, still=0.0, at_hold=0.0):
    """Return visits of 5 s, rocked by a width in steps but for the last hold_s.

    In a hold the indication is at a share of the rock's half width, and wanders by `still` steps.
    """
    rng = np.random.default_rng(5)
    t = np.arange(5 * gauge[1]) / gauge[1]
    values = []
    for k in range(visits):
        swing = 0.5 * width * np.sin(2 * np.pi * rock_hz * t + rng.uniform(0, 2 * np.pi))
        knots = np.arange(0, 7, 0.8)
        wander = np.interp(t, knots, rng.normal(0, 1, len(knots))) * still
        side = -1 if k % 2 else 1
        held = side * at_hold * 0.5 * width
        values += (side * apart / 2 + np.where(t < 5 - hold_s, swing, held) + wander).tolist()
    return values


def job(hold_s, visits=6):
    """Return visits of 5 s, rocked but for the last hold_s, at 20/s with quick tremor."""
    axis = axis_of(rocked(hold_s, visits=visits), scatter=0.5)
    return axis, whole(axis).holds


def codes_of(axis, choice=None):
    return [f.code for f in unheld(axis, choice or whole(axis), LIMITS)]


def test_visits():
    axis, holds = job(1.5)
    assert len(visits_by_level(axis, holds)) == 6
    assert visits_by_level(axis, ()) == []


def test_a_wheel_that_never_moves_has_no_visits():
    axis = axis_of([7] * 100)
    assert visits_by_level(axis, whole(axis).holds) == []
    assert codes_of(axis) == []


def test_held_wheel():
    assert codes_of(job(1.5)[0]) == []


def test_never_held():
    assert codes_of(job(0.0)[0]) == ["no_hold"]


@pytest.mark.parametrize("rock_hz", [0.55, 0.7, 0.9, 1.1, 1.4])
@pytest.mark.parametrize(("gauge", "width"), [(FINE, 2.5), (COARSE, 1.3)])
def test_rocking_to_the_end_that_hardly_shows(gauge, width, rock_hz):
    scatter = 0.4 if gauge is FINE else 0.0
    axis = axis_of(rocked(0.0, width, rock_hz=rock_hz, gauge=gauge, apart=12.3), gauge, scatter)
    assert "no_hold" in codes_of(axis)


@pytest.mark.parametrize("width", [0.0, 1.0, 1.5, 12.0])
def test_a_hand_that_wanders_in_the_hold_is_no_rocking(width):
    # It moves on in the hold, as far as rocking that hardly shows, but keeps no time.
    axis = axis_of(rocked(1.5, width, still=0.5), scatter=0.1)
    assert codes_of(axis) == []


@pytest.mark.parametrize("width", [0.0, 0.3, 0.6, 0.8])
def test_a_last_digit_that_flickers_is_no_rocking(width):
    # The level lies at the edge between two digits, and the hand is not quite still.
    rocking = rocked(1.5, width, visits=8, gauge=COARSE, apart=16, still=0.1)
    assert codes_of(axis_of(np.array(rocking) + 0.6, COARSE, 0.12)) == []


def test_neither_setting_up_nor_what_comes_after_the_work_decides():
    values = rocked(1.5, 2.0, visits=6)
    t = np.arange(100) / 20
    handled = 20 * np.sin(2 * np.pi * 0.8 * t)
    values[:100] = 40 + handled
    values[-100:] = -40 + handled
    assert codes_of(axis_of(values, scatter=0.3)) == []


def test_holds_that_lie_half_way_between_the_rocking():
    # With a play of a count the hold of either side may show the count between them.
    values = rocked(2.0, 2.0, apart=1.9, rock_hz=1.0, gauge=COARSE, at_hold=-1.0)
    assert codes_of(axis_of(values, COARSE)) == []
    values = rocked(0.0, 2.0, apart=1.9, rock_hz=1.0, gauge=COARSE)
    assert codes_of(axis_of(values, COARSE)) == ["no_hold"]


@pytest.mark.parametrize("width", [10.0, 40.0])
def test_an_even_rock_adds_nearly_half_the_square_of_its_width(width):
    # From one end of the rock to the other is the width; the mean of a squared sine is a half.
    axis = axis_of(rocked(0.0, width, rock_hz=0.75, apart=400))
    kept = rhythm_kept(axis, [(100 * k, 100 * k + 100) for k in range(6)], 0.8, 0.3)
    assert 0.85 * width**2 / 2 < kept < width**2 / 2


def test_holds_of_one_side_do_not_say_where_the_sides_are():
    axis, _ = job(0.0)
    one_side = chosen([Hold(20, 40, 1.0, 2.0, 40.0, 1.0, 20)], two_sided=False)
    assert codes_of(axis, one_side) == ["no_hold"]


def test_too_few_visits_tell_nothing():
    axis, _ = job(0.0, visits=3)
    assert codes_of(axis) == []


def test_times_that_leave_no_reading_to_a_mean():
    axis, _ = job(0.0)
    assert codes_of(replace(axis, spacing_s=1e-6)) == []


def test_held_too_short():
    assert codes_of(job(0.75)[0]) in (["no_hold", "short_hold"], [])


def test_visits_without_a_hold_are_named():
    axis, _ = job(1.5)
    first = Hold(75, 98, 3.75, 4.85, 40.0, 0.5, 23)
    last = Hold(575, 598, 28.75, 29.85, -40.0, 0.5, 23)
    assert len(visits_without(axis, (first, last), LIMITS)) == 4


def test_visits_before_the_first_hold_and_after_the_last_are_not():
    axis, _ = job(1.5)
    first = Hold(175, 198, 8.75, 9.85, -40.0, 0.5, 23)
    last = Hold(475, 498, 23.75, 24.85, 40.0, 0.5, 23)
    assert len(visits_without(axis, (first, last), LIMITS)) == 2


def test_rocking_that_does_not_show_is_not_named():
    assert codes_of(axis_of(np.repeat(np.tile([40, -40], 3), 100), COARSE)) == []


def test_tremor_alone_is_not_rocking():
    axis = axis_of(np.repeat(np.tile([40, -40], 3), 100), FINE, 1.5)
    assert codes_of(axis) == []


def test_a_short_visit_cannot_be_judged():
    axis, _ = job(1.5)
    assert calmed(axis, 0, 30, 1.0) is None


# --- the rules by their words, on jobs drawn at random --------------------------------------------


def mean(values):
    return sum(values) / len(values)


def stays_by_the_rule(axis, part, shortest_s):
    raw = axis.count.tolist()
    count = [raw[0], *(sorted(raw[i - 1 : i + 2])[1] for i in range(1, len(raw) - 1)), raw[-1]]
    work = sorted(count[part[0] : part[1]])
    low, high = work[len(work) * 8 // 100], work[len(work) * 92 // 100]
    far = 2 * (high - low) + 0.05 / axis.step_mm
    groups = []
    for i, c in enumerate(count):
        if c < low - far or c > high + far:
            side = "far"
        elif c > (high + low) / 2 + 0.2 * (high - low):
            side = "upper"
        elif c < (high + low) / 2 - 0.2 * (high - low):
            side = "lower"
        else:
            continue
        if groups and groups[-1][0] == side:
            groups[-1][2] = i
        else:
            groups.append([side, i, i])
    nexts = [first for _, first, _ in groups[1:]] + [groups[-1][2] + 1] if groups else []
    return [
        (first, last + 1, after)
        for (side, first, last), after in zip(groups, nexts, strict=True)
        if side != "far" and axis.t_s[last] - axis.t_s[first] >= shortest_s
    ]


def visits_by_the_rule(axis, holds):
    stays = stays_by_the_rule(axis, (holds[0].first, holds[-1].end), 2.0)
    return [(first, end) for first, end, _ in stays]


def bins_by_the_rule(axis, part):
    """Return means of so many readings as fill 0.08 s, in digits."""
    size = max(1, round(0.08 / axis.spacing_s))
    whole = range(0, len(part) - size + 1, size)
    return [mean([axis.count[part[i + k]] for k in range(size)]) / axis.digit for i in whole]


def share_by_the_rule(axis, first, end, last_s):
    """Return the spread of the last moment by that of the rest."""
    from_s, until_s = axis.t_s[first] + 0.8, axis.t_s[end - 1] - 0.3
    body = [i for i, t in enumerate(axis.t_s) if from_s <= t < until_s - last_s]
    tail = [i for i, t in enumerate(axis.t_s) if until_s - last_s <= t < until_s]
    if len(body) < 6 or len(tail) < 3 or len(bins_by_the_rule(axis, tail)) < 3:
        return None
    b, t = bins_by_the_rule(axis, body), bins_by_the_rule(axis, tail)
    return (pvariance(t) ** 0.5 + 1e-6) / (pvariance(b) ** 0.5 + 1e-6)


def distance_by_the_rule(value, first, begin, stop, lag):
    """Return the mean square distance from `lag` before, of what has something there."""
    squares = [(value[i] - value[i - lag]) ** 2 for i in range(begin, stop) if i - lag >= first]
    return mean(squares) if len(squares) >= 4 else None


def rhythm_by_the_rule(value, first, begin, stop, rock):
    short = distance_by_the_rule(value, first, begin, stop, rock // 2)
    long = distance_by_the_rule(value, first, begin, stop, (rock + 1) // 2)
    whole_rock = distance_by_the_rule(value, first, begin, stop, rock)
    return None if whole_rock is None else (short + long) / 2 - whole_rock


def middle_third(values):
    cut = len(values) // 3
    return mean(sorted(values)[cut : len(values) - cut])


def kept_by_the_rule(axis, visits, end_s):
    size = max(1, round(0.08 / axis.spacing_s))
    bin_s = size * axis.spacing_s
    value = bins_by_the_rule(axis, range(len(axis.count)))
    spans = []
    for first, end in visits:
        begin = -(-first // size) + round(0.4 / bin_s)
        spans.append((begin, max(end // size - round(0.3 / bin_s), 0)))
    if len(spans) < 4:
        return None
    rocks = range(round(0.66 / bin_s), round(2.0 / bin_s) + 1)

    def throughout(rock):
        return middle_third(
            [rhythm_by_the_rule(value, first, first, stop, rock) or 0.0 for first, stop in spans]
        )

    habit = max(rocks, key=throughout)
    ends, quick = [], []
    for first, stop in spans:
        begin = max(stop - round(end_s / bin_s), 0)
        end = rhythm_by_the_rule(value, first, begin, stop, habit)
        if end is not None:
            ends.append(end)
            quick.append(mean([(value[i] - value[i - 1]) ** 2 for i in range(begin, stop)]))
    if len(ends) < 4:
        return None
    return min(middle_third(ends), 2 * throughout(habit)) - 0.3 * middle_third(quick)


def visits_judged_by_the_rule(axis, choice, hold_s):
    """Return the visits, with what lies half way if a hold has room there."""
    holds = choice.holds
    part = (holds[0].first, holds[-1].end) if choice.two_sided else (0, len(axis.count))
    visits = []
    for first, end, after in stays_by_the_rule(axis, part, 1.3):
        away_s = axis.t_s[min(after, len(axis.t_s) - 1)] - axis.t_s[end - 1]
        visits.append((first, after if away_s > hold_s + 0.3 else end))
    return visits


def codes_by_the_rule(axis, choice, visits, kept, hold_s):
    """Return the codes of `unheld`, and of the visits in which no hold was found."""
    holds = choice.holds
    lonely = []
    for first, end in visits_by_the_rule(axis, holds):
        if end <= holds[0].first or first >= holds[-1].end:
            continue
        if not any(hold.first < end and first < hold.end for hold in holds):
            share = share_by_the_rule(axis, first, end, 0.4 * hold_s)
            lonely.append("short_hold" if share is not None and share < 0.3 else "no_hold")
    if kept is None or kept < 0.08 + (0.0004 / (axis.digit * axis.step_mm)) ** 2:
        return [], lonely, None
    shares = [share_by_the_rule(axis, *visit, 0.4 * hold_s) for visit in visits]
    told = [share for share in shares if share is not None]
    calm = told and median(told) < 0.5
    begins_s = axis.t_s[visits[0][1] - 1] - 0.3 - 0.8 * hold_s
    at_s = next(t for t in axis.t_s if t >= begins_s)
    return (["no_hold", "short_hold"] if calm else ["no_hold"]), lonely, at_s


def some_job(rng):
    """Return rocked visits that are held for some time, and some holds in them."""
    spacing_s, hold_s = one_of(rng, (0.05, 0.08, 0.12)), one_of(rng, (0.6, 1.0, 1.5))
    step_mm, digit = one_of(rng, GAUGES)
    held_s, share = rng.uniform(0, 1.2) * hold_s, rng.uniform(0, 1)
    swing, noise, hz = rng.uniform(0.3, 5) * digit, one_of(rng, (0, 0.3, 1)), rng.uniform(0.4, 1.2)
    apart = rng.uniform(3, 60) * digit
    count, holds, n = [], [], 0
    for visit in range(int(rng.integers(3, 9))):
        t = np.arange(0, rng.uniform(1.4, 5.5), spacing_s)
        rocking = np.where(t < t[-1] - 0.3 - held_s, 1, share)
        level = apart / 2 if visit % 2 else -apart / 2
        count += (level + swing * rocking * np.sin(2 * np.pi * hz * t + visit)).tolist()
        if visit == 0 or rng.random() < 0.8:
            first = n + len(t) // 2
            holds.append(Hold(first, n + len(t), 0.0, 0.0, level, 0.0, 1))
        n += len(t)
    exact = np.array(count) + rng.normal(0, noise, n) * digit
    for _ in range(int(rng.integers(3))):
        exact[int(rng.integers(n)) :][: int(rng.integers(1, 30))] += one_of(rng, (-900, 30, 900))
    t_s = spacing_s * np.arange(n) * rng.uniform(0.9, 1.1)
    axis = Coordinate(t_s, np.rint(exact).astype(np.int64), step_mm, digit, spacing_s)
    return axis, tuple(holds), replace(LIMITS, hold_s=hold_s)


def test_the_rules_visit_by_visit():
    seen = Counter()
    for seed in range(160):
        rng = np.random.default_rng(seed)
        axis, holds, limits = some_job(rng)
        choice = chosen(holds, two_sided=rng.random() < 0.7)
        visits = visits_by_level(axis, holds)
        assert visits == visits_by_the_rule(axis, holds), seed
        for visit in visits[:3]:
            share = calmed(axis, *visit, limits.hold_s)
            told = share_by_the_rule(axis, *visit, limits.hold_s)
            assert (share is None) == (told is None), seed
            assert share is None or share == pytest.approx(told, rel=1e-6, abs=1e-9), seed
        found = unheld(axis, choice, limits)
        lonely = visits_without(axis, holds, limits)
        judged = visits_judged_by_the_rule(axis, choice, limits.hold_s)
        kept = kept_by_the_rule(axis, judged, 0.8 * limits.hold_s)
        got = rhythm_kept(axis, judged, 0.8 * limits.hold_s, 0.3)
        assert got is kept is None or got == pytest.approx(kept, rel=1e-6, abs=1e-9), seed
        codes, alone, at_s = codes_by_the_rule(axis, choice, judged, kept, limits.hold_s)
        assert [f.code for f in found] == codes, seed
        assert [f.code for f in lonely] == alone, seed
        assert all(f.at_s == at_s for f in found)
        assert all(f.at_s in {axis.t_s[end - 1] for _, end in visits} for f in lonely)
        seen.update(("unheld", code) for code in codes)
        seen.update(("visit", code) for code in alone)
        seen["nothing"] += not codes
    assert len(seen) == 5
    assert min(seen.values()) >= 5  # each comes about

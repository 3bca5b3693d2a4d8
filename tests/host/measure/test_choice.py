"""Which quiet stretches count, on holds made by hand."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from statistics import fmean, median

import numpy as np
import pytest

from host.measure.situations import one_of, situation
from rockhold.measure.choice import choose, side_distance, sides_of, single_visit
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.sides import spread_within

FINE = Coordinate(np.arange(4) * 0.05, np.zeros(4, dtype=np.int64), 0.00127, 1.0, 0.05)
COARSE = Coordinate(np.arange(4) * 0.07, np.zeros(4, dtype=np.int64), 0.0127, 1.0, 0.07)


def row(levels, every_s=6.0, rocked=True):
    return [
        Hold(100 * i, 100 * i + 30, every_s * i + 4, every_s * i + 5.5, level, 0.3, 30, rocked)
        for i, level in enumerate(levels)
    ]


def test_cycles_and_sides():
    choice = choose(FINE, row([40, -40, 41, -40, 40, -41]))
    assert choice.upper.tolist() == [True, False] * 3
    assert (choice.cycles, choice.two_sided) == (3, True)
    assert 80 < side_distance(choice) < 81.5


def test_the_wheel_left_alone_does_not_count():
    holds = row([3, 40, -40, 40, -40, 40, -40, 5])
    choice = choose(FINE, holds)
    assert [hold.level for hold in choice.holds] == [40, -40, 40, -40, 40, -40]


def test_one_side_only():
    assert not choose(FINE, row([40, 40.5, 39.8, 40.1, 40.3, 39.9])).two_sided
    assert not choose(COARSE, row([4, 4, 4, 4, 4, 4])).two_sided
    assert single_visit(np.array([False, True, True, False]))
    assert not single_visit(np.array([False, True, False, True]))


def test_levels_of_one_side_lie_no_distance_apart():
    choice = choose(FINE, row([40, -40, 41, -40, 40, -41]))
    for side in (True, False):
        assert side_distance(replace(choice, upper=np.full(6, side))) == 0.0


def test_nearly_no_play_must_stand_out_of_the_scatter_fourfold():
    # From side to side 3.5 counts (0.0044 mm): of itself too little.
    for scatter, found in ((0.8, True), (1.0, False)):
        high, low = (1.75 + scatter, 1.75 - scatter), (-1.75 - scatter, -1.75 + scatter)
        levels = [high[k // 2 % 2] if k % 2 == 0 else low[k // 2 % 2] for k in range(8)]
        assert choose(FINE, row(levels)).two_sided == found


def test_a_rest_between_two_pulls_is_no_visit():
    holds = []
    for i in range(5):
        start = 6.0 * i
        holds.append(Hold(200 * i, 200 * i + 60, start, start + 4.5, 9.0, 0.2, 60, True))
        holds.append(Hold(200 * i + 70, 200 * i + 90, start + 4.9, start + 5.5, 3.0, 0.2, 9, False))
    assert not choose(COARSE, holds).two_sided


def test_a_pause_before_seating_gives_way_to_the_later_hold():
    holds = row([40, -40, 40, -40, 40, -40])
    pause = Hold(140, 155, 6.3, 6.9, -34.0, 0.5, 15, True)
    choice = choose(FINE, sorted([*holds, pause], key=lambda hold: hold.first))
    assert -34.0 not in [hold.level for hold in choice.holds]


def test_the_wheel_let_go_at_once_after_a_hold_does_not_count():
    def kept(after, by, wait_s=0.2, rocked=False):
        holds = row([40, -40, 40, -40, 40, -40])
        held = holds[after]
        let_go = replace(held, start_s=held.end_s + wait_s, level=held.level + by, rocked=rocked)
        let_go = replace(let_go, first=held.end, end_s=let_go.start_s + 1.0)
        found = choose(FINE, sorted([*holds, let_go], key=lambda hold: hold.first)).holds
        assert set(holds) <= set(found)
        return let_go in found

    # Towards the other side, by more than a hand moves that still holds: 1.57 counts are 0.002 mm.
    for after, inward in ((5, 1), (4, -1), (2, -1), (3, 1)):
        assert not kept(after, 2.0 * inward)
        assert kept(after, 1.4 * inward)
        assert kept(after, -2.0 * inward)
        assert kept(after, 2.0 * inward, wait_s=1.1)
    assert kept(2, -2.0, rocked=True)
    assert not kept(5, 20)  # where no hold of a side lies


@pytest.mark.parametrize("at", [0, 5])
def test_the_first_and_the_last_hold_may_lie_on_the_next_count(at):
    def count(axis, by, long_s=1.5, rocked=True):
        holds = row([4, -4, 4, -4, 4, -4] if axis is COARSE else [40, -40, 40, -40, 40, -40])
        odd = replace(holds[at], level=holds[at].level + by, rocked=rocked)
        holds[at] = replace(odd, end_s=odd.start_s + long_s)
        return len(choose(axis, holds).holds)

    assert count(COARSE, 0.5, 0.9) == 6
    assert count(COARSE, 1.0) == 6
    assert count(COARSE, -1.0) == 6
    assert count(COARSE, 1.3) == 5
    assert count(COARSE, 1.0, long_s=0.9) == 5  # the wheel let go rests for so long
    assert count(COARSE, 1.0, rocked=False) == 5
    # 0.01 mm are 7.9 counts: a base creeps by as much.
    assert count(FINE, 7.5) == 6
    assert count(FINE, 8.2) == 5
    assert count(FINE, 7.5, long_s=0.9) == 5
    # By 8.7 counts, a tenth more than one of the coarser unit that the gauge once showed.
    assert count(replace(FINE, digit=7.874), 8.2) == 6


def test_next_to_each_other_the_sides_leave_less_room_for_the_ends():
    holds = row([1.2, -1.2, 1.2, -1.2, 1.2, -0.4])  # 0.8 off, of 2.4 from side to side
    assert len(choose(COARSE, holds).holds) == 5


# --- the rules by their words, hold after hold, on situations drawn at random ---------------------


def choice_by_the_rule(axis, holds):
    """Return the holds that count with their sides."""
    coarse = axis.digit * axis.step_mm > 0.004
    rocked = [hold for hold in holds if hold.rocked]
    times = [sum(min(h.end_s - h.start_s, 1.2) + 0.001 for h in some) for some in (rocked, holds)]
    core = holds if coarse or len(rocked) < 3 or times[0] < times[1] / 2 else rocked
    inner = core[1:-1] if len(core) > 5 else core
    high = None
    upper = sides_of(inner).tolist()
    if len(inner) >= 2 and any(upper):
        high = middle_by_the_rule([h for h, up in zip(inner, upper, strict=True) if up])
        low = middle_by_the_rule([h for h, up in zip(inner, upper, strict=True) if not up])
        away = [abs(h.level - (high if u else low)) for h, u in zip(inner, upper, strict=True)]
        stray = max(0.6 * axis.digit, 0.004 / axis.step_mm)
        stray = stray if coarse else max(stray, 4.5 * median(away))
        edge = min(max(1.1 * axis.digit, 0.01 / axis.step_mm), 0.3 * (high - low))

        def reach(hold):
            if hold in inner:
                return 4 * stray
            surely_held = hold.rocked and hold.end_s - hold.start_s >= 1.0
            return max(stray, edge) if surely_held else stray

        core = [h for h in holds if min(abs(h.level - high), abs(h.level - low)) <= reach(h)]
    rows = list(zip(core, sides_of(core).tolist(), strict=True))
    if high is not None and not coarse:
        rows = without_let_go(axis, rows, (high + low) / 2)
    kept = []
    for i, (hold, up) in enumerate(rows):
        if kept and up != kept[-1][1]:
            last = i
            while last + 1 < len(rows) and rows[last + 1][1] == up:
                last += 1
            if rows[last][0].end_s - kept[-1][0].end_s < 1.5:
                continue  # only a rest between two pulls
        kept.append((hold, up))
    return last_of_visits(axis, kept) if coarse and kept else without_early(kept)


def without_let_go(axis, rows, middle):
    """Leave out what came at once after a hold, further inward, where that was rocked before."""
    slack = max(axis.digit, 0.002 / axis.step_mm)
    count = axis.count.tolist()
    kept = []
    for hold, up in rows:
        same_side = bool(kept) and kept[-1][1] == up
        if same_side and not hold.rocked and hold.start_s - kept[-1][0].end_s <= 1.0:
            before = kept[-1][0]
            moved = hold.level - before.level
            came = min(before.first, len(count) - 1)
            while came and (count[came] > middle) == (count[came - 1] > middle):
                came -= 1
            rocked = before.start_s - axis.t_s[came] >= 1.5
            if rocked and (moved < -slack if up else moved > slack):
                continue
        kept.append((hold, up))
    return kept


def middle_by_the_rule(holds):
    """Return the level that half of the time held is not above; beyond 1.2 s it does not count."""
    times = {hold: min(hold.end_s - hold.start_s, 1.2) + 0.001 for hold in holds}
    for hold in sorted(holds, key=lambda hold: hold.level):
        not_above = sum(time for other, time in times.items() if other.level <= hold.level)
        if not_above >= sum(times.values()) / 2:
            return hold.level
    raise AssertionError


def without_early(rows):
    kept = []
    for i, (hold, up) in enumerate(rows):
        changed = i > 0 and rows[i - 1][1] != up
        again = i + 1 < len(rows) and rows[i + 1][1] == up
        if not (changed and again and hold.start_s - rows[i - 1][0].end_s < 1.5):
            kept.append((hold, up))
    return kept


def last_of_visits(axis, rows):
    kept = [rows[0]]
    for hold, up in rows[1:]:
        if up != kept[-1][1]:
            kept.append((hold, up))
        elif hold.rocked or (
            (hold.level >= kept[-1][0].level - axis.digit / 2)
            if up
            else (hold.level <= kept[-1][0].level + axis.digit / 2)
        ):
            kept[-1] = (hold, kept[-1][1])
    return kept


def two_sided_by_the_rule(axis, rows):
    coarse = axis.digit * axis.step_mm > 0.004
    sides = [[hold for hold, up in rows if up is side] for side in (True, False)]
    if not all(sides):
        return False
    for side, other in (sides, sides[::-1]):
        ends = (rows[0][0], rows[-1][0])
        if len(other) >= 3 and all(h in ends or not h.rocked for h in side):
            if len(side) <= 2:
                return False
            break
    high, low = ([hold.level for hold in side] for side in sides)
    apart = fmean(high) - fmean(low)
    if apart >= 0.0045 / axis.step_mm and apart >= 1.2 * axis.digit:
        return True
    turns = len(rows) >= 4 and all(a[1] != b[1] for a, b in pairwise(rows))
    if not coarse:
        within = spread_within(np.array([h.level for h, _ in rows]), np.array([u for _, u in rows]))
        return turns and apart >= 4 * within
    between = [b[0].end_s - a[0].end_s for a, b in pairwise(rows)]
    even = max(between) <= 2.5 * median(between)
    return turns and even and len(rows) >= 6 and apart >= axis.digit / 4


def came_to(axis, holds, seed):
    """Return the coordinate of a hub that came to each level some time before the hold."""
    count = axis.count.copy()
    for k, hold in enumerate(holds):
        count[max(0, hold.first - one_of(np.random.default_rng([seed, k]), (10, 28, 32, 50))) :] = (
            round(hold.level)
        )
    return replace(axis, count=count)


def test_the_rules_hold_by_hold():
    seen = Counter()
    for seed in range(800):
        axis, holds, _ = situation(seed)
        if seed % 2:  # sides as near as the digits and the hand tell
            near = np.random.default_rng(seed).uniform(0.02, 0.3)
            holds = [replace(hold, level=near * hold.level) for hold in holds]
        if seed % 3 == 0 and len(holds) > 2:  # let go at once, or a little later
            rng = np.random.default_rng(seed)
            start_s = holds[-2].end_s + one_of(rng, (0.1, 0.9, 1.1))
            by = one_of(rng, (0.0, 0.5, 3.0)) * axis.digit * rng.normal()
            let_go = replace(holds[-1], start_s=start_s, end_s=start_s + 0.8, rocked=False)
            holds = [*holds[:-1], replace(let_go, level=holds[-2].level + by)]
        axis = came_to(axis, holds, seed)
        found = choose(axis, holds)
        rows = list(zip(found.holds, found.upper.tolist(), strict=True))
        assert rows == choice_by_the_rule(axis, holds), seed
        if rows:
            assert found.two_sided == two_sided_by_the_rule(axis, rows), seed
        visits = [up for i, (_, up) in enumerate(rows) if i == 0 or up != rows[i - 1][1]]
        assert found.cycles == min(visits.count(True), visits.count(False))
        assert single_visit(found.upper) == (len(visits) <= 3)
        seen[found.two_sided, len(rows) < len(holds)] += 1
    assert len(seen) == 4
    assert min(seen.values()) > 12


def test_a_hold_longer_than_the_asked_one_weighs_no_more():
    # A wheel that was left standing must not pull the sides to where it stood.
    changed = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        levels, lengths = rng.normal(0, 5, 5), rng.uniform(0.4, 1.2, 4)

        def sides(at_s, levels=levels, lengths=lengths):
            spans = [*lengths, at_s]
            holds = [
                Hold(0, 1, 0.0, span, level, 0.0, 1)
                for span, level in zip(spans, levels, strict=True)
            ]
            return sides_of(holds).tolist()

        assert sides(1.2) == sides(5.0) == sides(60.0), seed
        changed += sides(1.2) != sides(0.1)
    assert changed > 3  # up to there the time does weigh

"""Excursions, flat stretches and far plateaus, on coordinates made by hand."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product
from statistics import median

import numpy as np

from host.measure.situations import one_of, situation
from rockhold.measure.choice import Choice, choose
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.disturb import excursions
from rockhold.measure.frozen import flats, frozen, may_be_frozen, telling
from rockhold.measure.holds import Hold, find_holds
from rockhold.measure.hub.turning import Turning
from rockhold.procedure.endplay import shipped_limits

LIMITS = shipped_limits()
STEP_MM = 0.00127


def job(spoil=None, cycles=4):
    """Return a coordinate of rocks (3 s) and holds (1.5 s) at 20/s with tremor, maybe spoilt."""
    rng = np.random.default_rng(9)
    values = []
    for k in range(2 * cycles):
        level = 30 if k % 2 == 0 else -30
        t = np.arange(60) / 20
        values += (level + 6 * np.sin(2 * np.pi * 0.9 * t)).tolist() + [level] * 30
    exact = np.array(values) + rng.normal(0, 0.8, len(values))
    if spoil:
        exact = spoil(exact)
    count = np.floor(exact + 0.5).astype(np.int64)
    return Coordinate(np.arange(len(count)) / 20, count, STEP_MM, 1.0, 0.05)


def chosen(axis):
    holds, _ = find_holds(axis, LIMITS)
    return choose(axis, holds)


def test_a_clean_job_shows_nothing():
    axis = job()
    assert not excursions(axis, chosen(axis).holds, 0)
    assert not frozen(axis, chosen(axis), flats(axis), [])


def test_plunger_in_a_hole():
    def hole(exact):
        exact[300:308] -= 700
        return exact

    found = excursions(job(hole), chosen(job()).holds, 0)
    assert [f.code for f in found] == ["plunger_dropped"]
    assert found[0].at_s == 15.0


def test_wild_reading():
    def wild(exact):
        exact[300] -= 700
        return exact

    assert not excursions(job(wild), chosen(job()).holds, 0)


def test_hanging_plunger_is_lost_contact():
    def hang(exact):
        exact[300:400] = -900
        return exact

    assert [f.code for f in excursions(job(hang), chosen(job()).holds, 0)] == ["contact_lost"]


def test_a_short_excursion_that_stands_still_is_a_hole_or_the_free_stop():
    def stand(exact):
        exact[300:325] = -900
        return exact

    found = excursions(job(stand), chosen(job()).holds, 0)
    assert {f.code for f in found} == {"plunger_dropped", "contact_lost"}


def test_frozen_gauge():
    def freeze(exact):
        exact[200:320] = exact[200]
        return exact

    axis = job(freeze)
    assert "gauge_frozen" in [f.code for f in frozen(axis, chosen(axis), flats(axis), [])]
    assert flats(axis)[0].first in (199, 200)


# --- the rules by their words, reading after reading, on traces drawn at random -------------------


def runs_of(values):
    """Return (first, end) of each run of one and the same value."""
    cuts = [i for i in range(1, len(values)) if values[i] != values[i - 1]]
    return list(pairwise([0, *cuts, len(values)]))


def flats_by_the_rule(axis):
    count, t_s = axis.count.tolist(), axis.t_s.tolist()
    silent_s = max(0.5, 3.5 * axis.spacing_s)
    parts = [0]  # a silence ends a run
    for i in range(1, len(count)):
        parts.append(parts[-1] + (t_s[i] - t_s[i - 1] > silent_s))
    runs = runs_of(list(zip(count, parts, strict=True)))
    lengths = [(float(axis.t_s[end - 1] - axis.t_s[first]), first, end) for first, end in runs]
    longest = sorted(lengths, key=lambda run: -run[0])[:6]
    return [(first, end, axis.count[first], s) for s, first, end in longest if first > 0]


def between_by_the_rule(choice, count):
    levels = [hold.level for hold in choice.holds]
    if not levels:
        return True
    edge = 0.15 * (max(levels) - min(levels))
    return min(levels) + edge < count < max(levels) - edge


def abrupt_by_the_rule(axis, first, end):
    if end + 1 >= len(axis.count):
        return False
    until_s = axis.t_s[end] + 0.5
    later = [
        c for t, c in zip(axis.t_s[end + 1 :], axis.count[end + 1 :], strict=True) if t < until_s
    ]
    later = later if len(later) >= 2 else axis.count[end + 1 : end + 3].tolist()
    whole = median(later) - axis.count[first]
    jump = axis.count[end] - axis.count[first]
    if min(abs(jump), abs(whole)) < 3 * axis.digit:
        return False
    return jump * whole > 0 and abs(jump) >= 0.8 * abs(whole)


def share_by_the_rule(choice, length_s):
    ends = [hold.end_s for hold in choice.holds]
    return length_s / median(b - a for a, b in pairwise(ends)) if len(ends) >= 3 else 1.0


def frozen_by_the_rule(axis, choice):
    """Return the codes, and whether the gauge may have been frozen."""
    coarse = axis.digit * axis.step_mm > 0.004
    runs = flats_by_the_rule(axis)
    if len(runs) < 2:
        return [], False
    first, end, count, length_s = runs[0]
    ratio = length_s / max(runs[1][3], 0.001)
    share, abrupt = share_by_the_rule(choice, length_s), abrupt_by_the_rule(axis, first, end)
    perhaps = coarse and len(choice.holds) >= 4
    perhaps &= (share >= 1.1 and ratio >= 1.3) or (share >= 1.0 and abrupt)
    if end == len(axis.count) and choice.two_sided and not coarse and len(choice.holds) % 2 == 1:
        stands_out = length_s >= 3.0 and ratio >= 1.5
    elif end == len(axis.count):
        out = not between_by_the_rule(choice, count)
        stands_out = length_s >= 5.0 and ratio >= 2.0 and out
        stands_out |= length_s >= 10.0 and ratio >= 1.8
    elif not coarse:
        least_s = 3.2 if between_by_the_rule(choice, count) else 3.6
        stands_out = (length_s >= least_s and ratio >= 1.7) or (ratio >= 1.5 and abrupt)
    else:
        bounds = ((1.2, 2.1), (1.55, 1.5), (1.65, 1.2))
        stands_out = any(share >= least and ratio >= times for least, times in bounds)
        stands_out |= length_s >= 4.0 and ratio >= 2.8
        stands_out |= share >= 0.9 and ratio >= 1.3 and abrupt
    if length_s < 2.0 or not stands_out:
        return [], perhaps
    work = axis.count[first : choice.holds[-1].end if choice.holds else None].tolist()
    lost = not work or count in (min(work), max(work)) or between_by_the_rule(choice, count)
    return ["gauge_frozen", "contact_lost"] if lost else ["gauge_frozen"], perhaps


def excursions_by_the_rule(axis, holds, rest):
    levels = [hold.level for hold in holds]
    beyond = max(0.06 / axis.step_mm, 3 * axis.digit)
    low, high = min(levels) - beyond, max(levels) + beyond
    count, t_s = axis.count.tolist(), axis.t_s.tolist()
    if rest < holds[0].first and low <= count[rest] <= high:
        first = rest
    else:
        first = 0
        for i in range(holds[0].first):
            if not low <= count[i] <= high:
                if t_s[i] - t_s[first] >= 0.5:
                    break
                first = i + 1
    groups = []
    for i in range(first, len(count)):
        if low <= count[i] <= high:
            continue
        if groups and t_s[i] - t_s[groups[-1][-1]] <= max(0.3, 2.5 * axis.spacing_s):
            groups[-1].append(i)
        else:
            groups.append([i])
    found = []
    for group in groups:
        if len(group) == 1:
            continue
        if t_s[group[0]] > holds[-1].end_s and t_s[-1] - t_s[group[-1]] < 0.5:
            continue
        values = [count[i] for i in group]
        side = 1 if values[0] > high else -1
        edge = max(side * value for value in values) - int(0.004 / axis.step_mm)
        at_edge = [side * value >= edge for value in values]
        stays = [(a, b) for a, b in runs_of(at_edge) if at_edge[a]]
        stood_s = max(t_s[group[b - 1]] - t_s[group[a]] for a, b in stays)
        long_s = t_s[group[-1]] - t_s[group[0]]
        hangs = long_s > 2.5 and max(values) - min(values) <= axis.digit
        codes = ["contact_lost"] if hangs or stood_s >= 0.9 else []
        codes += [] if hangs else ["plunger_dropped"]
        found += [(code, t_s[group[0]]) for code in codes]
    return found


def trace_of(rng, axis, holds):
    """Return a coordinate whose counts stand at the holds and move between them, maybe spoilt."""
    n = len(axis.count)
    count = np.rint(np.cumsum(rng.normal(0, 3, n)) % 60 - 30).astype(np.int64)
    for hold in holds:
        count[hold.first : hold.end] = round(hold.level)
    for _ in range(int(rng.integers(4))):  # gaps, excursions, a count that stays
        at, long = int(rng.integers(n)), one_of(rng, (1, 2, 3, 6, 12, 19, 30, 55, 75, 120))
        part = slice(at, at + long)
        kind = int(rng.integers(3))
        if kind == 0:
            count[part] = count[at - 1]
        elif kind == 1:
            count[part] += one_of(rng, (-300, 300)) + rng.integers(-1, 2, len(count[part]))
        else:
            count[part] = one_of(rng, (-300, 300))
    spacing_s = one_of(rng, (0.05, 0.1))
    t_s = np.arange(n) * 0.05
    if rng.random() < 0.3:
        t_s[int(rng.integers(n)) :] += rng.uniform(0.1, 0.6)
    if rng.random() < 0.3:
        count[int(rng.integers(n // 2, n)) :] = count[-1]
    if rng.random() < 0.1:  # hardly ever another count
        count = rng.integers(-9, 10, 4)[np.sort(rng.integers(1, 5, n)) - 1]
    return replace(axis, count=count, t_s=t_s, spacing_s=spacing_s)


def test_the_rules_reading_by_reading():
    seen = Counter()
    for seed in range(900):
        rng = np.random.default_rng([seed, 1])
        axis, holds, choice = situation(seed)
        axis = trace_of(rng, axis, holds)
        found = [(f.first, f.end, f.count, f.length_s) for f in flats(axis)]
        assert found == flats_by_the_rule(axis), seed
        codes, perhaps = frozen_by_the_rule(axis, choice)
        assert [f.code for f in frozen(axis, choice, flats(axis), [])] == codes, seed
        assert may_be_frozen(axis, choice, flats(axis), []) == perhaps, seed
        rest = int(rng.integers(len(axis.count) // 3 + 1))
        told = excursions_by_the_rule(axis, tuple(holds), rest)
        assert [(f.code, f.at_s) for f in excursions(axis, tuple(holds), rest)] == told, seed
        seen.update({*codes, *(code for code, _ in told), "perhaps" if perhaps else "never"})
    assert min(seen.values()) >= 15  # each comes about
    assert set(seen) == {"gauge_frozen", "contact_lost", "plunger_dropped", "perhaps", "never"}


def stood(step_mm, long_s, next_s, period_s=4.0, *, abrupt=False, at_end=False, odd=False):
    """Return a job that shows one count for two times, the longer one last, and its holds."""
    move = [3 * (i % 2) + 20 * (i // 2 % 2) for i in range(40)]
    n_long, n_next = round(long_s * 100) + 1, round(next_s * 100) + 1
    after = [62] * 1 + [60 + i % 2 for i in range(60)] if abrupt else [2 + 2 * i for i in range(60)]
    count = np.array([*move, *[50] * n_next, *move, *[0] * n_long, *([] if at_end else after)])
    t_s = np.arange(len(count)) / 100
    ends_s = period_s * np.arange(5 if odd else 6)
    held = tuple(
        Hold(0, len(count), t - 1, t, 60.0 * (k % 2), 0.0, 9) for k, t in enumerate(ends_s)
    )
    choice = Choice(held, np.arange(len(held)) % 2 == 1, True, 2)
    return Coordinate(t_s, count, step_mm, 1.0, 0.01), choice


def test_the_bounds_of_a_frozen_gauge():
    # About each bound of time, of the time relative to the next longest and to a cycle.
    seen = Counter()
    shares = [b + d for b in (0.9, 1.0, 1.1, 1.2, 1.55, 1.65) for d in (-0.02, 0.02)]
    ratios = [b + d for b in (1.2, 1.3, 1.4, 1.5, 1.7, 1.8, 2.0, 2.1, 2.8) for d in (-0.03, 0.03)]
    for step_mm, long_s, ratio, kind in product(
        (0.00127, 0.01),
        [
            *(4 * share for share in shares),
            1.96,
            2.04,
            2.96,
            3.04,
            3.17,
            3.23,
            3.57,
            3.63,
            3.97,
            4.03,
            5.04,
            9.9,
            10.1,
        ],
        ratios,
        ({}, {"abrupt": True}, {"at_end": True}, {"at_end": True, "odd": True}),
    ):
        axis, choice = stood(step_mm, long_s, long_s / ratio, **kind)
        told, perhaps = frozen_by_the_rule(axis, choice)
        runs = flats(axis)
        assert [f.code for f in frozen(axis, choice, runs, [])] == told, (long_s, ratio, kind)
        assert may_be_frozen(axis, choice, runs, []) == perhaps, (long_s, ratio, kind)
        seen[bool(told), perhaps] += 1
    assert len(seen) == 4


def test_one_run_alone_has_nothing_to_be_held_against():
    axis, choice = stood(0.01, 9.0, 2.0)
    count = np.where(np.arange(900) < 100, 3, 7)
    alone = replace(axis, count=count, t_s=np.arange(900) / 100)
    assert len(flats(alone)) == 1
    assert frozen(alone, choice, flats(alone), []) == []
    assert not may_be_frozen(alone, choice, flats(alone), [])


def test_where_a_sensor_saw_the_wheel_stand_a_long_run_tells_nothing():
    t_s = np.arange(3000) / 100
    count = 3 * (np.arange(3000) % 2)
    for from_s, to_s in ((4, 6), (10, 20)):
        count[(t_s >= from_s) & (t_s <= to_s)] = 50
    axis = Coordinate(t_s, count, 0.01, 1.0, 0.01)
    held = tuple(Hold(100 * s, 100 * s + 99, s, s + 0.99, 0.0, 0.0, 9) for s in (3, 25))
    choice = Choice(held, np.array([True, False]), True, 1)

    def lengths(fastest, stood_s, first_s=0.0):
        times = np.arange(first_s, 30, 0.01)
        moved = (times < 25 - 10 - stood_s / 2) | (times > 25 - 10 + stood_s / 2)
        rate = fastest * np.where(np.arange(len(times)) % 2, 1, -1) * moved
        found = telling(axis, choice, Turning(times, rate, 0.0))
        assert all(run.count == 50 for run in found[:2])
        return [round(run.length_s, 1) for run in found[:2]]

    assert [round(run.length_s, 1) for run in telling(axis, choice, None)[:2]] == [10, 2]
    # It stood for 6 s, of which a hold takes 2.5: the other 3.5 s do not count.
    assert lengths(60, 6) == [6.5, 2.0]
    assert lengths(60, 2.4) == [10.0, 2.0]  # no longer than a hold
    assert lengths(60, 9.4) == [3.1, 2.0]
    assert lengths(19, 6) == [10.0, 2.0]  # a sensor that saw no rocking says nothing
    nobody = replace(choice, holds=(), upper=np.array([], dtype=bool))
    still = Turning(t_s, 60.0 * (t_s < 5), 0.0)
    assert round(telling(axis, nobody, still)[0].length_s, 1) == 10

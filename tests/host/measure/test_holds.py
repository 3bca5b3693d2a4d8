"""Holds are found where they were held; settling as IEEE 181 and first-order systems have it."""

from dataclasses import replace
from itertools import pairwise, zip_longest
from math import ceil, fsum, log
from statistics import fmean, median, pstdev

import numpy as np
import pytest

from host.measure.jobs import ALL, FAST, FINE, LIMITS, measured
from host.measure.situations import one_of
from host.measure.test_unheld import some_job
from rockhold.measure.coordinate import Coordinate, coordinate
from rockhold.measure.holds import find_holds, shortest_s
from rockhold.measure.quiet import quiet_starts
from rockhold.measure.splits import best_split, sums_of


@pytest.mark.parametrize("gauge", ALL)
def test_sides_and_ends_of_holds(gauge):
    right = total = 0
    for seed in range(1000, 1015):
        _, truth, result = measured(gauge, seed)
        for hold in result.holds:
            nearest = min(truth.holds, key=lambda true: abs(true.end_s - hold.end_s))
            total += 1
            right += nearest.side == hold.side and hold.end_s <= nearest.end_s + 0.5
    # A pause between two strokes may pass for a hold of its own now and then.
    assert right / total >= 0.95


@pytest.mark.parametrize("gauge", [FINE, FAST])
def test_most_of_a_hold_is_inside_the_true_one(gauge):
    shares = []
    for seed in range(1000, 1015):
        _, truth, result = measured(gauge, seed)
        for hold in result.holds:
            inside = [
                min(hold.end_s, true.end_s) - max(hold.start_s, true.start_s)
                for true in truth.holds
            ]
            shares.append(max(inside) / max(hold.end_s - hold.start_s, 1e-9))
    assert np.median(shares) > 0.95


@pytest.mark.parametrize(("percent", "taus"), [(2, 3.912), (1, 4.605), (0.1, 6.908)])
def test_settling_of_a_first_order_lag(percent, taus):
    # IEEE 181 settling time: from the change to entering the tolerance for good. First order:
    # ln(1/tolerance) time constants (textbook).
    tau_s, rate_hz = 0.1, 2000.0
    t_s = np.arange(int(2 * rate_hz)) / rate_hz
    count = np.rint(1e6 * (1 - np.exp(-t_s / tau_s))).astype(np.int64)
    # The last reading's quiet stretch with a band of the tolerance begins at the settling time.
    start = quiet_starts(count, round(1e6 * percent / 100))[-1]
    assert t_s[start] / tau_s == pytest.approx(taus, abs=0.01)


def test_second_order_overshoot_is_not_settled():
    # Damping 0.3, 6 Hz: overshoot 37.23 %, settles to 2 % at 0.2979 s (textbook formulas).
    zeta, omega, rate_hz = 0.3, 2 * np.pi * 6, 5000.0
    t_s = np.arange(int(2 * rate_hz)) / rate_hz
    damped = omega * np.sqrt(1 - zeta**2)
    step = 1 - np.exp(-zeta * omega * t_s) * (
        np.cos(damped * t_s) + zeta / np.sqrt(1 - zeta**2) * np.sin(damped * t_s)
    )
    assert step.max() - 1 == pytest.approx(0.3723, abs=1e-4)
    outside = np.flatnonzero(np.abs(step - 1) > 0.02)
    assert t_s[outside[-1] + 1] == pytest.approx(0.2979, abs=1e-3)
    count = np.rint(step * 1e5).astype(np.int64)
    # A stretch with a band of 4 % (2 % either side) begins near that time, never earlier than
    # the last swing that leaves it.
    start = quiet_starts(count, 4000)[-1]
    assert 0.2 < t_s[start] <= 0.2979 + 1e-3


def test_a_gap_is_no_quiet_time():
    t_s = np.concatenate((np.arange(8) * 0.05, 20 + np.arange(8) * 0.05))
    axis = Coordinate(t_s, np.zeros(16, dtype=np.int64), 0.01, 1.0, 0.05)
    assert find_holds(axis, LIMITS)[0] == []
    assert shortest_s(axis, LIMITS) > 0.4


def test_unit_changed_in_mid_trace_stays_on_one_axis():
    trace, _, _ = measured(FINE, 2001, "unit_changed")
    axis = coordinate(trace)
    assert axis.digit == pytest.approx(0.01 / 0.00127)
    assert np.abs(axis.count * axis.step_mm - trace.travel_mm).max() <= 0.51 * axis.step_mm


# --- the rules by their words, on jobs drawn at random --------------------------------------------


def middle_by_the_rule(count):
    inner = (sorted(count[i - 1 : i + 2])[1] for i in range(1, len(count) - 1))
    return [count[0], *inner, count[-1]]


def band_by_the_rule(axis, middle, limits):
    asked = limits.quiet_band_mm / axis.step_mm
    narrowest = max(ceil(axis.digit), int(asked / 3))
    widest = max(narrowest, int(3 * asked))
    size = max(3, round(0.8 * limits.hold_s / axis.spacing_s))
    if len(middle) < 2 * size:
        return max(narrowest, int(asked))
    around = np.pad(middle, size, mode="symmetric").tolist()
    spreads = []
    for i in range(len(middle)):
        window = around[size + i - size // 2 :][:size]
        spreads.append(min(max(window) - min(window), 4 * widest))
    best, parted = 0, -1.0
    for value in sorted(set(spreads)):  # Otsu: where the two groups lie furthest apart
        small = [log(s + 2) for s in spreads if s <= value]
        large = [log(s + 2) for s in spreads if s > value]
        apart = fsum(large) / len(large) - fsum(small) / len(small) if large else 0
        if len(small) * len(large) * apart**2 > parted:
            best, parted = value, len(small) * len(large) * apart**2
    return min(max(narrowest, best), widest)


def stretches_by_the_rule(axis, middle, band, least_s, gap_s):
    starts = quiet_starts(np.array(middle), band).tolist()
    steps = [0.0, *(b - a for a, b in pairwise(axis.t_s.tolist()))]
    heard = np.cumsum([0.0 if step > gap_s else step for step in steps]).tolist()
    longest = []
    for end, start in enumerate(starts):
        goes_on = end + 1 < len(starts) and starts[end + 1] == start
        if not goes_on and heard[end] - heard[start] >= least_s:
            longest.append((start, end + 1))
    taken = []
    for start, stop in sorted(longest, key=lambda s: -(heard[s[1] - 1] - heard[s[0]])):
        first, end = start, stop
        for a, b in taken:
            if a < end and first < b:
                first, end = (first, min(end, a)) if first < a else (max(first, b), end)
        if end - first >= 2 and heard[end - 1] - heard[first] >= least_s:
            taken.append((first, end))
    return sorted(taken)


def parts_by_the_rule(axis, first, end, least_s, is_last):
    sums, every = sums_of(axis.count), is_last or axis.digit * axis.step_mm > 0.004

    def lasts(a, b):
        return axis.t_s[b - 1] - axis.t_s[a] >= 0.8 * least_s

    if not lasts(first, end):
        return []
    cut = best_split(axis, sums, first, end)
    if cut == first:
        return [(first, end)]
    if every:
        return [
            *parts_by_the_rule(axis, first, cut, least_s, is_last),
            *parts_by_the_rule(axis, cut, end, least_s, is_last),
        ]
    if lasts(cut, end):
        return parts_by_the_rule(axis, cut, end, least_s, is_last)
    if lasts(first, cut):
        return parts_by_the_rule(axis, first, cut, least_s, is_last)
    return [(first, end)]


def hold_by_the_rule(axis, first, end, least_s, band):
    t_s = axis.t_s.tolist()
    cut_s = min(0.1, 0.4 * max(0.0, t_s[end - 1] - t_s[first] - 0.8 * least_s))
    inside = [i for i, t in enumerate(t_s) if t_s[first] + cut_s <= t <= t_s[end - 1] - cut_s]
    if len(inside) >= 2:
        first, end = inside[0], inside[-1] + 1
    values = sorted(axis.count[first:end].tolist())
    usual = values[len(values) // 2]
    kept = [value for value in values if abs(value - usual) <= band + 1]
    return first, end, t_s[first], t_s[end - 1], fmean(kept), pstdev(kept), len(kept)


def calm_by_the_rule(axis, parts, spreads):
    """Return the last part, and before it those that are hardly less calm than the holds were."""
    kept = parts[-1:]
    for first, end in parts[-2::-1]:
        if not spreads or pstdev(axis.count[first:end].tolist()) > (
            1.5 * median(spreads) + 0.3 * axis.digit
        ):
            break
        kept = [(first, end), *kept]
    return kept


def holds_by_the_rule(axis, limits, widest):
    middle = middle_by_the_rule(axis.count.tolist())
    band = band_by_the_rule(axis, middle, limits)
    band = band if widest is None else max(1, min(band, widest))
    least_s = max(0.8 * limits.hold_s - 1.5 * axis.spacing_s, 0.4 * limits.hold_s)
    gap_s = max(limits.gap_s, 4 * axis.spacing_s)
    found, before_s = [], axis.t_s[0]
    stretches = stretches_by_the_rule(axis, middle, band, least_s, gap_s)
    for k, (first, end) in enumerate(stretches, start=1):
        parts = parts_by_the_rule(axis, first, end, least_s, k == len(stretches))
        if axis.digit * axis.step_mm <= 0.004:
            parts = calm_by_the_rule(axis, parts, [hold[5] for hold in found])
        for part in parts:
            hold = hold_by_the_rule(axis, *part, least_s, band)
            if found and found[-1][0] >= first and axis.digit * axis.step_mm <= 0.004:
                rocked = False  # it follows a hold of the same stretch
            elif found:
                rocked = hold[2] - before_s >= 0.7
            else:
                since = [i for i in range(first) if axis.t_s[i] >= axis.t_s[first] - 1.4]
                before = axis.count[since].tolist()
                rocked = axis.t_s[first] - axis.t_s[0] >= 0.7 and len(since) >= 4
                rocked = rocked and band < max(before) - min(before) < 0.5 / axis.step_mm
            found.append((*hold, rocked))
        before_s = axis.t_s[end - 1]
    return found, band


def test_the_rules_hold_by_hold():
    rocked = gaps = 0
    for seed in range(160):
        rng = np.random.default_rng(seed)
        axis, _, limits = some_job(rng)
        t_s = axis.t_s.copy()
        for _ in range(int(rng.integers(3))):
            t_s[int(rng.integers(len(t_s))) :] += rng.uniform(0.1, 1.5)
            gaps += 1
        start = int(rng.integers(len(t_s) // 4)) if rng.random() < 0.7 else len(t_s) - 25
        axis = replace(axis, t_s=t_s[start:], count=axis.count[start:])
        limits = replace(limits, quiet_band_mm=one_of(rng, (0.004, 0.008, 0.02)))
        widest = one_of(rng, (None, None, 0, 3))
        holds, band = find_holds(axis, limits, widest)
        told, told_band = holds_by_the_rule(axis, limits, widest)
        assert band == told_band, seed
        for hold, row in zip_longest(holds, told):
            assert (hold.first, hold.end, hold.start_s, hold.end_s) == row[:4], seed
            assert (hold.level, hold.spread) == pytest.approx(row[4:6], abs=1e-6), seed
            assert (hold.n, hold.rocked) == row[6:], seed
        rocked += sum(hold.rocked for hold in holds)
    assert min(rocked, gaps) > 50


@pytest.mark.parametrize(
    ("before", "silent_s", "rocked"),
    [
        ([60, 60, 0, 0] * 4, 0.05, True),
        ([60, 60, 0, 0] * 4, 1.45, False),  # nothing is known of the last 1.4 s
        ([60, 60, 0, 0] * 4, 1.20, True),  # of four readings something is
        ([60, 60, 0, 0] * 4, 1.27, False),  # of three not enough
        ([60, 60, 0, 0] * 3, 0.05, False),  # the recording began hardly before
        ([500, 500, 0, 0] * 4, 0.05, False),  # the gauge was being set up
    ],
)
def test_the_first_hold_follows_rocking_where_it_was_seen(before, silent_s, rocked):
    count = np.array([*before, *[30] * 60])
    t_s = 0.05 * np.arange(len(count)) + np.where(np.arange(len(count)) < len(before), 0, silent_s)
    axis = Coordinate(t_s, count, 0.00127, 1.0, 0.05)
    holds, _ = find_holds(axis, replace(LIMITS, quiet_band_mm=0.008))
    assert [hold.rocked for hold in holds] == [rocked]

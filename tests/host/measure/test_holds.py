"""Holds are found where they were held; settling as IEEE 181 and first-order systems have it."""

import numpy as np
import pytest

from host.measure.jobs import ALL, FAST, FINE, LIMITS, measured
from rockhold.measure.coordinate import Coordinate, coordinate
from rockhold.measure.holds import find_holds, shortest_s
from rockhold.measure.quiet import quiet_starts


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

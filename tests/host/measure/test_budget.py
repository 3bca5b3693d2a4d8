"""The uncertainty budget against the GUM, NIST and independent arithmetic."""

from math import inf, sqrt

import numpy as np
import pytest
from scipy import stats

from rockhold.errors import OutOfRangeError
from rockhold.measure.budget import (
    BudgetRow,
    combined,
    cosine_error,
    coverage_factor,
    effective_dof,
    u_rectangular,
    u_resolution,
)


def row(u, dof=inf, sensitivity=1.0):
    return BudgetRow("x", u, "normal", sensitivity, dof, "test")


def h1_rows():
    """Return GUM H.1 (end gauge) in nm; inputs as in the examples of the library GTC."""
    length, alpha, theta_rest = 50_000_623.0, 11.5e-6, -0.1
    u_dtheta, u_dalpha = u_rectangular(0.05), u_rectangular(1e-6)
    return (
        row(25.0, 18),
        row(5.8, 24),
        row(3.9, 5),
        row(6.7, 8),
        row(u_dalpha, 50, -length * theta_rest),
        row(u_dtheta, 2, -length * alpha),
    )


def test_end_gauge_of_gum_h1():
    # JCGM 100:2008, H.1.4: budget lines 25, 2.9 and 16.6 nm; u_c = 32 nm (31.6639 unrounded).
    rows = h1_rows()
    assert rows[4].u_mm == pytest.approx(2.8868, abs=1e-3)
    assert rows[5].u_mm == pytest.approx(16.599, abs=1e-3)
    assert combined(rows) == pytest.approx(31.6639, abs=1e-3)
    assert effective_dof(rows) == pytest.approx(16.752, abs=1e-2)


def test_expanded_uncertainty_of_gum_h1():
    # JCGM 100:2008, H.1.6: t99(16) = 2.92, U99 = 93 nm.
    k = coverage_factor(16, 0.99)
    assert k == pytest.approx(2.92, abs=0.005)
    assert k * combined(h1_rows()) == pytest.approx(93, abs=1)


def test_second_order_terms_of_gum_h1():
    # JCGM 100:2008, H.1.7: where an estimate is zero its product with another one still spreads;
    # as rows of their own the two products give u_c = 34 nm (33.8 unrounded, by Monte Carlo too).
    length = 50_000_623.0
    u_theta = sqrt(0.2**2 + 0.5**2 / 2)  # a daily swing of 0.5 K, U-shaped
    products = (
        row(u_rectangular(1e-6), sensitivity=length * u_theta),
        row(u_rectangular(2e-6), sensitivity=length * u_rectangular(0.05)),
    )
    assert combined((*h1_rows(), *products)) == pytest.approx(33.80, abs=0.2)


def test_welch_satterthwaite_example():
    # JCGM 100:2008, G.4.1 (from memory; the arithmetic reproduces it).
    rows = (row(0.25, 9), row(0.57, 4), row(0.82, 14))
    assert combined(rows) == pytest.approx(1.03, abs=0.005)
    assert effective_dof(rows) == pytest.approx(19.0, abs=0.01)
    assert coverage_factor(19, 0.95) == pytest.approx(2.09, abs=0.005)
    assert coverage_factor(19, 0.95) * combined(rows) == pytest.approx(2.155, abs=0.01)


@pytest.mark.parametrize(
    ("dof", "t95", "t9545"),
    [
        (1, 12.71, 13.97),
        (2, 4.30, 4.53),
        (3, 3.18, 3.31),
        (4, 2.78, 2.87),
        (5, 2.57, 2.65),
        (10, 2.23, 2.28),
        (16, 2.12, 2.17),
        (20, 2.09, 2.13),
        (50, 2.01, 2.05),
        (inf, 1.960, 2.000),
    ],
)
def test_t_table_of_the_gum(dof, t95, t9545):
    # JCGM 100:2008, Table G.2 (from memory, checked with scipy.stats).
    assert coverage_factor(dof, 0.95) == pytest.approx(t95, abs=0.005)
    assert coverage_factor(dof, 0.9545) == pytest.approx(t9545, abs=0.005)
    if dof < inf:
        assert coverage_factor(dof, 0.95) == pytest.approx(stats.t.ppf(0.975, dof), rel=1e-9)


def test_type_b_of_what_is_only_known_by_its_limits():
    # JCGM 100:2008, 4.3.7.
    assert u_rectangular(1) == pytest.approx(0.57735, abs=1e-5)


def test_resolution():
    # JCGM 100:2008, F.2.2.1: a step of 1 has 0.29 as its standard uncertainty.
    assert u_resolution(1.0) == pytest.approx(0.28868, abs=1e-5)
    assert u_resolution(0.0127) == pytest.approx(0.0127 / sqrt(12))


@pytest.mark.parametrize(
    ("step_in", "u_in"),
    [(0.0005, 0.000204), (0.01 / 25.4, 0.000161), (0.0001, 0.000041), (0.001 / 25.4, 0.000016)],
)
def test_a_difference_of_two_rounded_levels(step_in, u_in):
    # JCGM 100:2008, F.2.2.1 for each of two independent levels: step / sqrt(6) (arithmetic).
    both = (row(u_resolution(step_in)), row(u_resolution(step_in)))
    assert combined(both) == pytest.approx(u_in, abs=1e-6)
    assert combined(both) == pytest.approx(step_in / sqrt(6), rel=1e-12)


def test_a_bias_that_is_only_known_to_be_at_most_so_large():
    # NIST/SEMATECH e-Handbook, 2.5.3.3.1: uniform within the largest bias b, b / sqrt(3).
    assert u_rectangular(0.003) == pytest.approx(0.003 / sqrt(3), rel=1e-12)


def test_the_standard_uncertainty_behind_a_certificate():
    # JCGM 100:2008, 4.3.4: 129 µΩ at 99 % are 50 µΩ.
    assert 129 / coverage_factor(inf, 0.99) == pytest.approx(50, abs=0.1)


@pytest.mark.parametrize("spread", [0.0, 0.1, 0.2, 0.3, 0.5])
def test_resolution_of_a_mean_of_dithering_readings(spread):
    # Brute force: the mean of rounded normal readings, over all places between two counts.
    places = np.linspace(-0.5, 0.5, 401)[:-1]
    edges = np.arange(-6, 8) - 0.5
    errors = []
    for place in places:
        if spread:
            cells = np.diff(stats.norm.cdf(edges, place, spread))
            errors.append(cells @ np.arange(-6, 7) - place)
        else:
            errors.append(np.round(place) - place)
    by_force = sqrt(np.mean(np.square(errors)))
    assert u_resolution(1.0, spread) == pytest.approx(by_force, abs=0.002)


def test_cosine_of_a_tilted_plunger():
    # True 0.005 in at 5, 10, 15, 20, 30 degrees reads 0.005019 ... 0.005774 in (geometry).
    for tilt, reading in (
        (5, 0.005019),
        (10, 0.005077),
        (15, 0.005176),
        (20, 0.005321),
        (30, 0.005774),
    ):
        assert 0.005 + cosine_error(0.005, tilt) == pytest.approx(reading, abs=1e-6)


def test_cosine_of_a_lever():
    # General machining practice: a lever at 10, 20, 60 degrees reads 1/0.985, 1/0.940, 1/0.5.
    for tilt, factor in ((10, 0.985), (20, 0.940)):
        assert 1 / (1 + cosine_error(1.0, tilt)) == pytest.approx(factor, abs=5e-4)


@pytest.mark.parametrize(
    "call",
    [
        lambda: u_resolution(0),
        lambda: u_resolution(-1),
        lambda: u_resolution(1, -1),
        lambda: cosine_error(1, 60),
        lambda: coverage_factor(0, 0.95),
        lambda: coverage_factor(5, 1.0),
        lambda: coverage_factor(5, 0.0),
    ],
)
def test_values_outside_their_range_are_refused(call):
    with pytest.raises(OutOfRangeError):
        call()


@pytest.mark.parametrize("spread", [0.05, 0.2, 0.45])
def test_resolution_has_no_unit_of_its_own(spread):
    for unit in (0.0127, 25.4):
        assert u_resolution(unit, unit * spread) == pytest.approx(unit * u_resolution(1.0, spread))


def test_a_cause_without_a_degree_of_freedom_does_not_count_in_welch_satterthwaite():
    # JCGM 100:2008, G.4.1 divides by them; a scatter of nothing (two holds) has none.
    assert effective_dof((row(0.0, 0), row(0.25, 9))) == pytest.approx(9)
    assert effective_dof((row(0.0, 0), row(0.25))) == inf

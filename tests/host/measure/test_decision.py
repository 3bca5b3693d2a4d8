"""Decision rules against JCGM 106, ILAC-G8 and ISO 14253-1."""

import pytest
from scipy.stats import norm

from rockhold.measure.decision import ACCEPT, REJECT, UNDECIDED, conformity, decide

LOW, HIGH = 0.001, 0.005  # the trade's band, in inches (TMC RP 618A)


def test_one_sided_upper():
    # JCGM 106:2012, clause 7 (from memory): limit -5.40 V, measured -5.47 V, u 0.05 V.
    assert conformity(-5.47, 0.05, high=-5.40) == pytest.approx(0.91924, abs=1e-5)


def test_one_sided_lower():
    # The same clause (from memory): limit 490 kPa, measured 509.7 kPa, u 8.6 kPa.
    assert conformity(509.7, 8.6, low=490) == pytest.approx(0.98901, abs=1e-5)


def test_two_sided():
    # The same clause (from memory): 12.5 to 16.3 mm²/s, measured 13.6 mm²/s, u 1.8 mm²/s.
    assert conformity(13.6, 1.8, 12.5, 16.3) == pytest.approx(0.66263, abs=1e-5)


@pytest.mark.parametrize(
    ("probability", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_guard_band_in_units_of_u(probability, z):
    # JCGM 106:2012, Table 1; ISO 14253-1:2017 takes 95 %: 1.645 u.
    u = 0.1
    result = decide(1.0, u, u, 0.0, 2.0, z)
    for inside in (result.accept_low, 2.0 - result.accept_high):
        assert inside == pytest.approx(z * u)
    assert conformity(result.accept_high, u, high=2.0) == pytest.approx(probability, abs=0.002)
    assert conformity(result.accept_low, u, low=0.0) == pytest.approx(probability, abs=0.002)


def test_guard_band_of_u_keeps_false_acceptance_below_two_and_a_half_percent():
    # ILAC-G8:09/2019, 4.2.2: acceptance limit = tolerance limit - U.
    result = decide(4.0, 0.5, 1.0, 0.0, 5.0, 1.0)
    assert (result.accept_low, result.accept_high) == (1.0, 4.0)
    assert 1 - conformity(4.0, 0.5, high=5.0) == pytest.approx(0.02275, abs=1e-5)


@pytest.mark.parametrize(("factor", "risk"), [(3.0, 9.9e-10), (1.5, 0.00135), (0.83, 0.0485)])
def test_other_guard_bands(factor, risk):
    # ILAC-G8:09/2019, table (from memory): w = 3 U, 1.5 U, 0.83 U with U = 2 u.
    assert norm.sf(2 * factor) == pytest.approx(risk, rel=0.01)
    u = 0.1
    at_limit = decide(1.0, u, 2 * u, 0.0, 2.0, factor).accept_high
    assert 1 - conformity(at_limit, u, high=2.0) == pytest.approx(risk, rel=0.01)


@pytest.mark.parametrize(
    ("value", "probability"),
    [
        (0.0005, 0.02275),
        (0.001, 0.5),
        (0.00125, 0.84134),
        (0.0015, 0.97725),
        (0.002, 0.99997),
        (0.003, 1.0),
        (0.0045, 0.97725),
        (0.00475, 0.84134),
        (0.005, 0.5),
    ],
)
def test_the_trades_band(value, probability):
    # The band of TMC RP 618A; the probabilities are those of the normal distribution (arithmetic).
    assert conformity(value, 0.00025, LOW, HIGH) == pytest.approx(probability, abs=1e-5)


@pytest.mark.parametrize(
    ("step", "low", "high"),
    [(0.0005, 0.00141, 0.00459), (0.01 / 25.4, 0.00132, 0.00468), (0.0001, 0.00108, 0.00492)],
)
def test_resolution_alone(step, low, high):
    # JCGM 100:2008, F.2.2.1 for each of the two levels, and ILAC-G8:09/2019, 4.2.2 (arithmetic).
    u = step / 6**0.5  # two rounded levels
    result = decide(0.003, u, 2 * u, LOW, HIGH, 1.0)
    # The table's 0.00141 comes from 1.96 u or 2 u; both round to it within 1e-5.
    assert result.accept_low == pytest.approx(low, abs=1e-5)
    assert result.accept_high == pytest.approx(high, abs=1e-5)


def test_verdicts():
    assert decide(3, 0.1, 0.2, 1, 5, 1.0).verdict == ACCEPT
    assert decide(1.1, 0.1, 0.2, 1, 5, 1.0).verdict == UNDECIDED
    assert decide(0.9, 0.1, 0.2, 1, 5, 1.0).verdict == UNDECIDED
    assert decide(0.7, 0.1, 0.2, 1, 5, 1.0).verdict == REJECT
    assert decide(5.3, 0.1, 0.2, 1, 5, 1.0).verdict == REJECT


def test_the_verdicts_are_the_words_of_the_capture_file():
    # protocol/README.md: the result line says one of these three.
    assert (ACCEPT, REJECT, UNDECIDED) == ("accept", "reject", "undecided")


def test_on_the_acceptance_limit_is_accepted_and_a_guard_band_outside_is_not_rejected_yet():
    # ILAC-G8:09/2019, 4.2.2: accepted up to and including AL = TL - w. All values are exact in
    # binary, so that the limits themselves are met.
    verdicts = [decide(y, 0.25, 0.5, 1.0, 5.0, 1.0).verdict for y in (1.5, 4.5, 0.5, 5.5)]
    assert verdicts == [ACCEPT, ACCEPT, UNDECIDED, UNDECIDED]


@pytest.mark.parametrize(("value", "probability"), [(0.9, 0), (1, 1), (3, 1), (5, 1), (5.1, 0)])
def test_without_uncertainty_conformity_is_yes_or_no(value, probability):
    assert conformity(value, 0.0, 1.0, 5.0) == probability


def test_simple_acceptance_is_never_undecided():
    # ILAC-G8:09/2019, 4.2.1 (from memory): w = 0; on the limit half of what is accepted is wrong.
    assert decide(1.0001, 0.1, 0.2, 1, 5, 0.0).verdict == ACCEPT
    assert decide(0.9999, 0.1, 0.2, 1, 5, 0.0).verdict == REJECT
    assert conformity(1.0, 0.1, 1, 5) == pytest.approx(0.5, abs=1e-6)


def test_a_guard_band_wider_than_the_band_never_accepts():
    assert decide(3, 3, 6, 1, 5, 1.0).verdict == UNDECIDED


def test_the_trades_two_worked_readings():
    # Common practice, no source: 0.002 out and 0.002 in from one zero make 0.004 in; 1 and 1
    # make 2; both are acceptable.
    for out_in, in_in in ((0.002, -0.002), (0.001, -0.001)):
        assert decide(out_in - in_in, 0.0, 0.0, LOW, HIGH, 1.0).verdict == ACCEPT

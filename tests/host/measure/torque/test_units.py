"""Units of torque against published factors and printed conversions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.errors import OutOfRangeError
from rockhold.measure.torque.units import (
    FACTORS,
    KGF_M,
    LBF_FT,
    LBF_IN,
    NM,
    OZF_IN,
    UNITS,
    from_nm,
    shown,
    to_nm,
    unit_named,
)


def test_the_pound_foot_is_exact():
    # NIST SP 811, B.8 prints 1.355 818; exact by the definitions of pound, inch and free fall.
    assert FACTORS[LBF_FT] == Fraction("1.3558179483314004")
    assert to_nm(1, LBF_FT) == 1.3558179483314004
    assert f"{to_nm(1, LBF_FT):.6f}" == "1.355818"


@pytest.mark.parametrize(
    ("value", "unit", "torque_nm"),
    [
        # NIST SP 811, B.8: 1.129 848 E-01 (lbf·in), 7.061 552 E-03 (ozf·in), 9.806 65 (kgf·m).
        (1, LBF_IN, 0.1129848290276167),
        (1, OZF_IN, 0.007061551814226),
        (1, KGF_M, 9.80665),
        (7, NM, 7),
    ],
)
def test_factors(value, unit, torque_nm):
    assert to_nm(value, unit) == pytest.approx(torque_nm, rel=1e-12)


def test_a_newton_metre_in_pound_feet():
    assert from_nm(1, LBF_FT) == pytest.approx(0.737562149277, rel=1e-12)


@pytest.mark.parametrize(
    ("pound_feet", "torque"),
    [
        # TMC RP 618A prints both units side by side.
        (50, "68"),
        (200, "271"),
        (275, "373"),
        (300, "407"),
        (400, "542"),
        # US Army TM 9-2320-272-24-2, 3-225, the same.
        (60, "81"),
        (100, "136"),
        (250, "339"),
    ],
)
def test_printed_conversions_are_what_we_show(pound_feet, torque):
    assert shown(to_nm(pound_feet, LBF_FT), NM) == f"{torque} N·m"


def test_halves_go_up_and_digits_stay():
    assert shown(12.5, NM) == "13 N·m"
    assert shown(-12.5, NM) == "-13 N·m"
    assert shown(-0.2, NM) == "0 N·m"
    assert shown(0.25, NM, 1) == "0.3 N·m"
    assert shown(to_nm(200, LBF_FT), LBF_FT, 1) == "200.0 lbf·ft"


@given(st.floats(-1e5, 1e5), st.sampled_from(UNITS))
def test_there_and_back(value, unit):
    assert from_nm(to_nm(value, unit), unit) == pytest.approx(value, rel=1e-15, abs=1e-300)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("Nm", NM), ("ft-lbs", LBF_FT), ("lbf·ft", LBF_FT), ("in.lb", LBF_IN), ("kgf m", KGF_M)],
)
def test_names_that_people_write(text, unit):
    assert unit_named(text) == unit
    assert all(unit_named(name) == name for name in UNITS)


def test_what_is_no_torque_is_refused():
    with pytest.raises(OutOfRangeError, match="no unit of torque; use one of N·m"):
        unit_named("mm")
    with pytest.raises(OutOfRangeError, match="no unit"):
        to_nm(1, "nm")

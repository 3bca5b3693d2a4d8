"""Settings with an adapter against worked examples of published manuals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.errors import OutOfRangeError
from rockhold.measure.torque.adapters import lever_to_nut, setting


@pytest.mark.parametrize(
    ("torque", "lever", "extension", "angle_deg", "expected"),
    [
        # US Navy training manual 14315, fig. 3-45: 100 lbf·in, lever 12 in, extension 6 in.
        (100, 12, 6, 0, 66.67),
        # US Army TM 9-254, fig. 46, L + E·cos α: lever 24, extension 2, 200.
        (200, 24, 2, 0, 184.615),
        (200, 24, 2, 90, 200),
        # US Navy manual 14008: pointing back, subtract the extension: 300, lever 36, extension 2.
        (300, 36, 2, 180, 317.65),
        # The same: at a right angle nothing changes.
        (300, 36, 2, 90, 300),
    ],
)
def test_published_examples(torque, lever, extension, angle_deg, expected):
    assert setting(torque, lever, extension, angle_deg) == pytest.approx(expected, abs=0.005)


@given(st.floats(1, 1000), st.floats(1, 100), st.floats(0, 0.6), st.floats(0, 180))
def test_the_nut_gets_what_was_asked(torque, lever, share, angle_deg):
    extension = share * lever
    # The hand's force on the wrench's own lever makes the setting; on the whole lever, the torque.
    force = setting(torque, lever, extension, angle_deg) / lever
    assert force * lever_to_nut(lever, extension, angle_deg) == pytest.approx(torque, rel=1e-12)


@given(st.floats(1, 100), st.floats(0.01, 0.6), st.floats(1, 89))
def test_a_longer_lever_needs_a_smaller_setting(lever, share, angle_deg):
    assert setting(100, lever, share * lever, angle_deg) < 100
    assert setting(100, lever, share * lever, 180 - angle_deg) > 100


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0, 12, 6), "torque must be above zero"),
        ((float("nan"), 12, 6), "torque must be above zero"),
        ((100, 0, 6), "lever must be above zero"),
        ((100, 12, -6), "angle of 180 degrees"),
        ((100, 12, 6, 200), "0 to 180 degrees"),
        ((100, 12, 11, 180), "turn it the other way"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(arguments, words):
    with pytest.raises(OutOfRangeError, match=words):
        setting(*arguments)


def test_the_lever_is_what_is_left_of_it():
    assert lever_to_nut(24, 2, 60) == pytest.approx(25)

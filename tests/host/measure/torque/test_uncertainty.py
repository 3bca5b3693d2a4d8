"""The uncertainty of a peak by the tool's class."""

import pytest

from rockhold.errors import OutOfRangeError
from rockhold.measure.torque.events import Pull
from rockhold.measure.torque.uncertainty import class_mpe_percent, u_peak_nm


def pull(peak_nm, hidden_nm=0.0):
    return Pull(0, 1, 2, peak_nm, hidden_nm, 0, 0, None, None, 9)


def test_classes():
    # ISO 6789-1:2017, from memory.
    assert class_mpe_percent(10) == 6
    assert class_mpe_percent(10.1) == 4
    assert class_mpe_percent(300, fixed_beam=True) == 6
    with pytest.raises(OutOfRangeError, match="largest torque"):
        class_mpe_percent(0)


def test_four_per_cent_rectangular_is_two_point_three_one():
    # JCGM 100:2008, 4.3.7: half width / √3.
    assert u_peak_nm(pull(271), 4.0) / 271 == pytest.approx(0.0231, abs=5e-5)
    assert u_peak_nm(pull(271, 3.0), 0.0) == pytest.approx(3**0.5)
    assert u_peak_nm(pull(271), 0.0, 1.0) == pytest.approx(0.2887, abs=5e-5)
    with pytest.raises(OutOfRangeError, match="must not be negative"):
        u_peak_nm(pull(271), -1)

"""Numbers as a reader meets them."""

import pytest

from rockhold.report.units import METRIC, NM_PER_LBF_FT, US, places_for


def test_a_foot_pound():
    # NIST Special Publication 811 (2008), appendix B.8: 1.355 818 N·m.
    assert round(NM_PER_LBF_FT, 6) == 1.355818


def test_value_and_uncertainty_end_at_the_same_place():
    # JCGM 100:2008, 7.2.6 (from memory): 10.057 62 Ω with 27 mΩ is given as 10.058 Ω.
    assert METRIC.interval(10.05762, 0.027) == "10.058 ± 0.027"


@pytest.mark.parametrize(
    ("uncertainty", "places"),
    [(0.52, 2), (0.0996, 2), (0.0994, 3), (5.2, 1), (12.0, 0), (120.0, 0), (0.0, 2), (1.0, 1)],
)
def test_two_digits_of_the_uncertainty(uncertainty, places):
    assert places_for(uncertainty) == places


def test_the_band_in_both_systems():
    # 0.001 to 0.005 in are 0.0254 to 0.127 mm: the inch has 25.4 mm exactly.
    assert [US.plain(x) for x in (0.0254, 0.127)] == ["1", "5"]
    assert [METRIC.plain(x) for x in (0.0254, 0.127)] == ["0.0254", "0.127"]
    assert US.interval(0.0762, 0.0127) == "3.00 ± 0.50"
    assert US.interval(-0.00001, 0.0127) == "0.00 ± 0.50"


def test_torques():
    assert US.moment(271.1635897) == "200 lbf·ft"
    assert METRIC.moment(271.1635897) == "271 N·m"

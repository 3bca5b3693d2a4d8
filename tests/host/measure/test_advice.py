"""Nut travel and advice: geometry of a thread."""

import pytest

from rockhold.measure.advice import nut_advice

BAND_MM = (0.0254, 0.127)
START_MM = 0.5  # an end play to begin with; what counts is how far it is from there


def turn_deg(travel_in, tpi):
    """Return the turn that is advised for moving the nut so far."""
    target_mm = START_MM + 25.4 * travel_in
    return nut_advice(START_MM, 0.01, (target_mm, target_mm), tpi, 0).turn_deg


def test_a_back_off_alone_never_tells_the_end_play():
    # TMC RP 618A (reprint; which row is for which axle from memory): final back-offs of 1/6 turn
    # at 12 and 1/4 at 18 (steer), 1/3 at 12 and 1/2 at 14 and 18, 1/4 at 12 and 16 threads an inch
    # (drive, trailer). Each moves the nut further than the 0.005 in that may be left: the jam nut
    # and the seating take up the rest, so only a measurement tells.
    for turn, tpi in ((6, 12), (4, 18), (3, 12), (2, 14), (2, 18), (4, 12), (4, 16)):
        assert 360 / turn > turn_deg(2 * 0.005, tpi)


@pytest.mark.parametrize(
    ("tpi", "turn", "travel_in"),
    [
        (12, 1 / 4, 0.020833),
        (12, 1 / 6, 0.013889),
        (12, 1 / 3, 0.027778),
        (16, 1 / 4, 0.015625),
        (18, 1 / 4, 0.013889),
        (18, 1 / 2, 0.027778),
        (14, 1 / 2, 0.035714),
    ],
)
def test_nut_travel(tpi, turn, travel_in):
    # Geometry: turn over threads per inch; the turns and threads are those of TMC RP 618A.
    assert turn_deg(travel_in, tpi) == pytest.approx(360 * turn, rel=1e-4)


@pytest.mark.parametrize(
    ("tpi", "degrees", "in_per_degree"),
    [
        (12, 17.28, 0.0002315),
        (14, 20.16, 0.0001984),
        (16, 23.04, 0.0001736),
        (18, 25.92, 0.0001543),
    ],
)
def test_degrees_for_the_whole_band(tpi, degrees, in_per_degree):
    # Geometry; the band of TMC RP 618A is 0.004 in wide.
    assert turn_deg(0.004, tpi) == pytest.approx(degrees, abs=1e-9)
    assert turn_deg(in_per_degree, tpi) == pytest.approx(1, rel=3e-4)


def test_advice_leads_to_the_middle_of_the_band():
    advice = nut_advice(0.2, 0.01, BAND_MM, 12, 8)
    assert advice.turn_deg < 0  # too loose: tighten
    assert 0.2 + advice.turn_deg / 360 * 25.4 / 12 == pytest.approx(0.0762)
    assert advice.lock_positions == pytest.approx(advice.turn_deg / 45)


def test_a_nut_of_one_thread_an_inch_travels_an_inch_a_turn():
    assert turn_deg(1, 1) == pytest.approx(360)
    assert nut_advice(0.2, 0.01, BAND_MM, 1, 8).turn_deg == pytest.approx(-360 * 0.1238 / 25.4)


def test_no_advice_without_play_or_thread():
    assert nut_advice(0.05, 0.05, BAND_MM, 12, 8) is None  # as large as its uncertainty
    assert nut_advice(0.005, 0.006, BAND_MM, 12, 8) is None
    assert nut_advice(0.05, 0.001, BAND_MM, 0, 8) is None
    assert nut_advice(0.05, 0.001, BAND_MM, 12, 0).lock_positions is None

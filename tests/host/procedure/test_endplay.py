"""The end-play step of a procedure: values from the file, errors that name file and key."""

import pytest

from rockhold.errors import ProcedureError
from rockhold.procedure.endplay import limits_from_text, shipped_limits
from rockhold.procedure.load import load_limits

GOOD = """
[end_play]
band_mm = [0.025, 0.127]
hold_s = 1.0
cycles_asked = 3
cycles_required = 2
guard_factor = 1.0
coverage = 0.95
base_on = "hub"
quiet_band_mm = 0.008
settle_s = 0.3
gap_s = 0.25
drift_limit_mm = 0.02
tilt_deg = 5
stop_angle_deg = 1.0
rock_angle_deg = 22.5
threads_per_inch = 0
lock_positions = 0
"""


def test_shipped_band_is_that_of_the_trade():
    # TMC RP 618A: 0.001 to 0.005 in (0.0254 to 0.127 mm).
    limits = shipped_limits()
    assert (limits.band_low_mm, limits.band_high_mm) == pytest.approx((0.0254, 0.127))
    assert (limits.cycles_asked, limits.cycles_required) == (3, 2)


def test_a_file_of_ones_own(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(GOOD)
    limits = load_limits(str(path))
    assert limits.out_sign == -1
    assert limits.band_high_mm == 0.127
    # Procedures from before the free stop was noted ask for no preload; later ones may.
    assert limits.preload_mm == 0
    assert limits_from_text(GOOD + "preload_mm = 0.2\n", "own.toml").preload_mm == 0.2


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("hold_s = 1.0", "", "end_play.hold_s: is missing"),
        ("hold_s = 1.0", "hold_s = 0", "end_play.hold_s: must be above"),
        ("hold_s = 1.0", 'hold_s = "long"', "end_play.hold_s: must be a number"),
        ("hold_s = 1.0", "hold_s = true", "end_play.hold_s: must be a number"),
        ("coverage = 0.95", "coverage = 1.0", "end_play.coverage"),
        ("cycles_required = 2", "cycles_required = 1", "end_play.cycles_required"),
        ("cycles_asked = 3", "cycles_asked = 1", "end_play.cycles_asked"),
        ("cycles_asked = 3", "cycles_asked = 2.5", "whole number"),
        ("guard_factor = 1.0", "guard_factor = -1", "end_play.guard_factor"),
        ('base_on = "hub"', 'base_on = "tyre"', "end_play.base_on"),
        ("band_mm = [0.025, 0.127]", "", "either band_mm or band_in"),
        ("band_mm = [0.025, 0.127]", "band_mm = [0.2, 0.1]", "end_play.band_mm"),
        ("band_mm = [0.025, 0.127]", "band_mm = [0.1]", "two numbers"),
        ("tilt_deg = 5", "tilt_deg = 5\nhold_ms = 3", "end_play.hold_ms: unknown key"),
        ("tilt_deg = 5", "tilt_deg = 5\npreload_mm = -0.1", "end_play.preload_mm"),
        ("[end_play]", "[torque]", "no table"),
        ("[end_play]", "[end_play", "not valid TOML"),
    ],
)
def test_errors_name_file_and_key(old, new, words):
    with pytest.raises(ProcedureError) as error:
        limits_from_text(GOOD.replace(old, new), "own.toml")
    assert words in str(error.value)
    assert str(error.value).startswith("own.toml")


def test_a_missing_file(tmp_path):
    with pytest.raises(ProcedureError, match="cannot read"):
        load_limits(str(tmp_path / "none.toml"))


def test_a_guided_procedure_is_judged_by_its_end_play():
    assert load_limits("single-nut-trailer") == load_limits("end-play-and-spin")
    with pytest.raises(ProcedureError, match="hub-cap has no end_play step"):
        load_limits("hub-cap")

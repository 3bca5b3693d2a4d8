"""The simulated technician."""

import numpy as np
import pytest

from rockhold.simulator.motion import move, plan
from rockhold.simulator.scenario import Technician


def jobs(kinds=frozenset(), **person):
    technician = Technician(**person)
    rng = np.random.default_rng(4)
    phases = plan(technician, rng, kinds, 0.0)
    return phases, move(technician, phases, rng)


def test_sides_alternate():
    phases, _ = jobs(cycles=3, first_side="in")
    assert [phase.side for phase in phases if phase.kind == "hold"] == [-1, 1] * 3


def test_misfortunes_of_the_hand():
    assert not [p for p in jobs(frozenset({"no_hold"}))[0] if p.kind == "hold"]
    assert {p.side for p in jobs(frozenset({"one_sided"}))[0] if p.kind == "hold"} == {1}
    short = [p.end_s - p.start_s for p in jobs(frozenset({"short_hold"}))[0] if p.kind == "hold"]
    assert max(short) < 0.7


@pytest.mark.parametrize("style", ["swing", "strokes", "dwell", "restless"])
def test_the_wheel_turns_in_rocks_and_stands_in_holds(style):
    phases, motion = jobs(style=style, rock_deg=20.0)
    for phase in phases:
        inside = (motion.t_s > phase.start_s + 0.15) & (motion.t_s < phase.end_s - 0.15)
        width = np.degrees(np.ptp(motion.angle_rad[inside]))
        if phase.kind == "hold":
            assert width < 0.5
        elif phase.kind == "rock":
            assert 10 < width < 110


def test_tremor_has_unit_spread():
    _, motion = jobs()
    assert motion.tremor.std() == pytest.approx(1.0)

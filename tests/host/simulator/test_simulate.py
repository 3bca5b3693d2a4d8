"""The simulator: deterministic, honest about its truth, and kept out of the measurement."""

import ast
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import rockhold
from rockhold.simulator.draw import GAUGES, STYLES, draw_scenario
from rockhold.simulator.scenario import MISFORTUNES, Gauge, Misfortune, Scenario, Technician
from rockhold.simulator.simulate import readings, simulate


def test_the_same_seed_gives_the_same_job():
    scenario = draw_scenario("0.01 mm, 10/s", 5)
    first, second = simulate(scenario, 5)[0], simulate(scenario, 5)[0]
    assert (first.t_us == second.t_us).all()
    assert (first.count == second.count).all()
    assert (
        len(simulate(scenario, 6)[0]) != len(first)
        or (simulate(scenario, 6)[0].count != first.count).any()
    )


@pytest.mark.parametrize("style", STYLES)
def test_holds_lie_the_end_play_apart(style):
    person = Technician(style=style, cycles=4, hold_deg=0.0, force_sd=0.0, tremor_mm=0.0)
    scenario = Scenario(technician=person, gauge=Gauge(step_mm=1e-5, lag_s=0.0, rate_hz=50))
    trace, truth = simulate(scenario, 1)
    travel, t_s = trace.travel_mm, trace.t_s
    levels = {"out": [], "in": []}
    for hold in truth.holds:
        inside = (t_s > hold.start_s + 0.3) & (t_s < hold.end_s - 0.05)
        levels[hold.side].append(travel[inside].mean())
    apart = np.mean(levels["out"]) - np.mean(levels["in"])
    # What is left of the seating after at least 2 s of rocking is below 4 %.
    assert apart == pytest.approx(truth.end_play_mm, abs=2 * 0.04 * scenario.wheel_end.seating_mm)


def test_counts_are_the_gauges():
    for name, (unit, step_mm, rate_hz) in GAUGES.items():
        trace, _ = simulate(draw_scenario(name, 3), 3)
        assert (trace.spans[0].unit, trace.spans[0].step_mm) == (unit, step_mm)
        assert 1e6 / np.median(np.diff(trace.t_us)) == pytest.approx(rate_hz, rel=0.1)
        assert (np.diff(trace.t_us) > 0).all()


@pytest.mark.parametrize("kind", MISFORTUNES)
def test_every_misfortune_changes_the_job(kind):
    scenario = draw_scenario("0.00005 in, 20/s", 8)
    good, _ = simulate(scenario, 8)
    bad, truth = simulate(replace(scenario, misfortunes=(Misfortune(kind, 0.4),)), 8)
    assert truth.misfortunes[0][0] == kind
    same = len(good) == len(bad) and (good.count == bad.count).all()
    assert not same or len(bad.spans) > 1


def test_unknown_names_are_refused():
    with pytest.raises(ValueError, match="use one of"):
        Misfortune("earthquake")
    scenario = Scenario(technician=replace(Technician(), style="wild"))
    with pytest.raises(ValueError, match="unknown style"):
        simulate(scenario, 1)
    with pytest.raises(ValueError, match="rounding"):
        simulate(Scenario(gauge=Gauge(rounding="up")), 1)


def test_readings_come_one_by_one():
    trace, _ = simulate(Scenario(misfortunes=(Misfortune("unit_changed"),)), 2)
    rows = list(readings(trace))
    assert [row.count for row in rows] == trace.count.tolist()
    assert {row.unit for row in rows} == {"in", "mm"}


@pytest.mark.parametrize("package", ["measure", "links", "capture", "report"])
def test_no_run_time_package_imports_the_simulator(package):
    for path in (Path(rockhold.__file__).parent / package).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not any("simulator" in name for name in names), path

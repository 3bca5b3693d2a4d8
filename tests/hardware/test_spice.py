"""The circuit in ngspice; the whole sweep is `make hardware`, here its hardest corners."""

import math
from dataclasses import replace

import numpy as np
import pytest

from rockcircuit.build import circuit_of
from rockcircuit.errors import SimulationError
from rockcircuit.spice import (
    bench,
    deck,
    models,
    ngspice,
    recorded,
    request,
    sweep,
    text_line,
    thresholds,
)
from support_hardware import rewired

needs_ngspice = pytest.mark.skipif(
    not ngspice.installed(), reason="ngspice is not installed (apt-get install ngspice)"
)
WORD = next(word for word in recorded.words() if word.name == "caliper0.5mm")
CIRCUIT = circuit_of("pico_w")


def test_a_deck_is_wired_as_the_netlist():
    lines = bench.shifters(CIRCUIT, bench.Corner())
    assert "RR2 gauge_data_line gauge_data_base 47000" in lines
    assert "QQ1 gauge_data gauge_data_base 0 QDATA" in lines
    assert not [line for line in lines if line.startswith("RJP1")]
    swapped = rewired(CIRCUIT, "Q1", B="GAUGE_DATA", C="GAUGE_DATA_BASE")
    assert "QQ1 gauge_data_base gauge_data 0 QDATA" in bench.shifters(swapped, bench.Corner())
    closed = bench.shifters(CIRCUIT, bench.Corner(), frozenset(("JP1",)))
    assert "RJP1 3v3 gauge_data_pull 0.1" in closed


def test_waves():
    assert deck.wave([(0, 1.5), (10, 0.0)]) == "PWL(0 1.5 1e-05 1.5 1.1e-05 0)"


def test_crossings():
    t_us = np.array([0.0, 1.0, 2.0, 3.0])
    volt = np.array([0.0, 2.0, 2.0, 0.0])
    assert bench.crossings(t_us, volt, 1.0) == [(0.5, 1), (2.5, 0)]


def test_no_ngspice_is_said_plainly(monkeypatch):
    monkeypatch.setenv("PATH", "")
    with pytest.raises(SimulationError, match="apt-get install ngspice"):
        ngspice.run([], "op", ["v(1)"])


@needs_ngspice
def test_a_broken_deck_is_said_plainly():
    with pytest.raises(SimulationError, match="gave nothing"):
        ngspice.run(["R1 a b nonsense_model_(", "V1 a 0 1"], "tran 1u 1m", ["v(nowhere)"])


@needs_ngspice
def test_ngspice_gives_what_ohm_and_thomson_say():
    # A divider, and a capacitor behind a resistor: 1 - 1/e of the step after one time constant.
    lines = ["V1 a 0 PWL(0 0 1n 1)", "R1 a b 1k", "C1 b 0 1u"]
    traces = ngspice.run(lines, "tran 1u 2m 0 2u", ["v(b)"])
    assert np.interp(1e-3, traces["x"], traces["v(b)"]) == pytest.approx(1 - 1 / math.e, rel=1e-3)


@needs_ngspice
def test_the_hardest_corners_give_the_word():
    got = sweep.shifters([(corner, WORD.name) for corner in sweep.hardest()])
    assert got.faults == ()
    assert got.corners == 4


@needs_ngspice
def test_levels_at_the_plug():
    low_v, high_v = thresholds.input_levels_v(CIRCUIT, bench.Corner())
    assert 0.4 < low_v < high_v < 1.1


@needs_ngspice
@pytest.mark.parametrize(
    "damage",
    [
        {"ref": "Q1", "B": "GAUGE_DATA", "C": "GAUGE_DATA_BASE"},
        {"ref": "Q2", "C": "GND", "E": "GAUGE_CLOCK"},
        {"ref": "R2", "_1": "GAUGE_CLOCK_LINE"},
        {"ref": "D2", "A": "GAUGE_CLOCK_LINE", "K": "GND"},
    ],
    ids=["legs swapped", "upside down", "wrong line", "Zener turned"],
)
def test_a_damaged_circuit_does_not_give_the_word(damage):
    damage = dict(damage)
    broken = rewired(CIRCUIT, damage.pop("ref"), **damage)
    outcome = bench.play(broken, sweep.hardest()[0], WORD)
    assert list(sweep.shifter_faults(outcome, outcome.right(WORD)))


@needs_ngspice
def test_a_part_of_another_value_is_noticed():
    parts = tuple(replace(part, value="1M") if part.ref == "R7" else part for part in CIRCUIT.parts)
    outcome = bench.play(replace(CIRCUIT, parts=parts), sweep.hardest()[0], WORD)
    assert list(sweep.shifter_faults(outcome, outcome.right(WORD)))


@needs_ngspice
def test_the_request_line():
    gauge = request.Gauge(1.25, 100e3, 300e-12)
    got = request.ask(CIRCUIT, gauge, 25.0, models.LOW)
    assert got.asleep > sweep.LEAST_ASLEEP
    assert got.asked_v < sweep.MOST_ASKED_V
    assert got.fall_us < 2
    # 100 kΩ and the line's capacitance: 1.1 time constants to two thirds
    assert 30 < got.rise_us < 80
    dead = request.ask(rewired(CIRCUIT, "R11", _1="LAMP_RED"), gauge, 25.0, models.LOW)
    assert dead.asked_v > 1.0


@needs_ngspice
def test_open_outputs_get_through_if_they_pull_hard_enough():
    corner = sweep.hardest()[1]
    assert request.shortest_pulse_us(CIRCUIT, corner, 100.0) <= 20
    assert request.shortest_pulse_us(CIRCUIT, corner, 10e3) == math.inf


@needs_ngspice
def test_the_text_line_bears_a_wrong_plug():
    got = text_line.levels(CIRCUIT)
    assert got.faults() == []
    # (13.2 V less 3.3 V less a Schottky diode) / 10 kΩ, and the same below ground
    assert got.most_a == pytest.approx(1.3e-3, abs=0.1e-3)
    bare = text_line.levels(rewired(rewired(CIRCUIT, "D4", K="TEXT_RX_OUT"), "D5", A="TEXT_RX_OUT"))
    assert len(bare.faults()) == 2

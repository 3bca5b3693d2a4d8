"""SKiDL's opinion; only where it is installed (make hardware)."""

from dataclasses import replace

import pytest

# Looked for by name: SKiDL itself opens its logs wherever it is imported.
pytest.importorskip("sexpdata", reason="SKiDL is not installed; make hardware brings it")

from rockcircuit import skidl_check
from rockcircuit.build import circuit_of
from rockcircuit.processors import BOARDS
from support_hardware import rewired, with_kind


@pytest.mark.parametrize("board", BOARDS)
def test_skidl_finds_no_fault(board):
    faults, netlist = skidl_check.check(circuit_of(board))
    assert faults == []
    assert "GAUGE_CLOCK_BASE" in netlist
    assert list(skidl_check.legs(circuit_of(board))) == []


def test_skidl_sees_what_is_broken():
    circuit = circuit_of("pico_w")
    for damaged in (
        rewired(circuit, "Q1", B=None),
        rewired(circuit, "U3", DT="LAMP_RED"),
        rewired(circuit, "Q1", C="GND", E="GAUGE_DATA"),
    ):
        assert skidl_check.check(damaged)[0]


def test_swapped_legs_are_seen():
    circuit = circuit_of("pico_w")
    good = circuit.part("Q1").kind
    numbers = {"C": "1", "B": "3", "E": "2"}
    swapped = replace(good, pins=tuple(replace(p, number=numbers[p.name]) for p in good.pins))
    assert list(skidl_check.legs(with_kind(circuit, "Q1", swapped)))


def test_a_netlist_that_differs_is_seen():
    circuit = circuit_of("pico_w")
    _, netlist = skidl_check.check(circuit)
    changed = rewired(circuit, "R11", _1="LAMP_RED")
    assert list(skidl_check.compare(changed, netlist)) == [
        "netlist: GAUGE_REQUEST differs from the circuit",
        "netlist: LAMP_RED differs from the circuit",
    ]

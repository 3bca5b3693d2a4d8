"""The rules find what would not work, and only that."""

import pytest

from rockboard.boards.pins import PINS
from rockcircuit import kinds, pin_table, processors, rules
from rockcircuit.build import circuit_of
from rockcircuit.processors import BOARDS
from support_hardware import renamed, rewired, with_kind, without


@pytest.mark.parametrize("board", BOARDS)
def test_the_circuit_is_in_order(board):
    assert rules.faults(circuit_of(board)) == []


BREAKS = {
    "a cut pin": (lambda c: rewired(c, "Q1", B=None), "Q1.B: on no net"),
    "a wire left out": (lambda c: without(c, "R11"), "GAUGE_REQUEST: only U1.GP6 is on it"),
    "two outputs tied": (lambda c: rewired(c, "U3", DT="LAMP_RED"), "drive against each other"),
    "the converter on the text line without its jumper": (
        lambda c: rewired(c, "U2", R1OUT="TORQUE_TX"),
        "U1.GP8, U2.R1OUT drive against each other",
    ),
    "base and collector swapped": (
        lambda c: rewired(c, "Q1", B="GAUGE_DATA", C="GAUGE_DATA_BASE"),
        "Q1.B",
    ),
    "collector and emitter swapped": (
        lambda c: rewired(c, "Q4", C="GND", E="BEEPER_COIL"),
        "Q4.E: the emitter of a switch belongs on ground",
    ),
    "a base that nothing holds off": (lambda c: without(c, "R12"), "Q3.B"),
    "a Zener diode the wrong way round": (
        lambda c: rewired(c, "D1", A="GAUGE_DATA_LINE", K="GND"),
        "D1: its bar is on ground",
    ),
    "the coil's diode the wrong way round": (
        lambda c: rewired(c, "D14", K="BEEPER_COIL", A="3V3"),
        "LS1: no diode lets the coil's current run on",
    ),
    "a lamp without its resistor": (
        lambda c: rewired(c, "D12", A="LAMP_GREEN"),
        "D12: no resistor before it",
    ),
    "a lamp the wrong way round": (
        lambda c: rewired(c, "D12", A="GND", K="GREEN_ANODE"),
        "D12: its flat side belongs on ground",
    ),
    "a line that leaves the box bare": (
        lambda c: rewired(c, "J1", DATA="GAUGE_DATA"),
        "J1.DATA: leaves the box with nothing between it and a chip",
    ),
    "a line whose clamp was left out": (
        lambda c: without(c, "D2"),
        "J1.CLOCK: leaves the box without a diode",
    ),
    "5 V at an input": (lambda c: rewired(c, "R4", _1="VBUS"), "U1.GP2: may see 5.2 V"),
    "the divider without its lower half": (lambda c: without(c, "R29"), "U1.GP26: may see 4.2 V"),
    "a module without supply": (lambda c: rewired(c, "U2", VCC="TORQUE_TX"), "wants a supply"),
    "a module for 5 V": (
        lambda c: rewired(c, "U5", IN_plus="3V3"),
        "3V3: U5.IN+ needs 4.5 V, gets 3.2 V",
    ),
    "cell and 3.3 V tied": (
        lambda c: rewired(c, "U5", OUT_plus="3V3"),
        "U1.3V3, U5.OUT+ drive against each other",
    ),
    "another part in its place": (
        lambda c: with_kind(c, "Q2", kinds.SIGNAL_DIODE),
        "Q2.A: on no net",
    ),
    "a name given twice": (lambda c: renamed(c, "R2", "R1"), "R1: two parts have this name"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_what_is_broken_is_found(name):
    damage, expected = BREAKS[name]
    faults = rules.faults(damage(circuit_of("pico_w")))
    assert any(expected in fault for fault in faults), faults


def test_the_transistors_legs():
    # TO-92 from the flat face, left to right. Source: the types' public data sheets (BC546-BC550
    # and BC337 series: 1 collector, 2 base, 3 emitter), from memory; SKiDL's symbols say the same.
    for kind in (kinds.SIGNAL_NPN, kinds.DRIVER_NPN):
        assert [(pin.number, pin.name) for pin in kind.pins] == [("1", "C"), ("2", "B"), ("3", "E")]


def test_the_picos_pins():
    # Source: the public pin-out of Pico, Pico W and Pico 2 W.
    places = {pin.name: int(pin.number) for pin in processors.kind_of("pico_w").pins}
    known = {"GP0": 1, "GP2": 4, "GP3": 5, "GP6": 9, "GP8": 11, "GP9": 12, "GP10": 14, "GP11": 15}
    known |= {"GP15": 20, "GP16": 21, "GP17": 22, "GP18": 24, "GP22": 29, "RUN": 30, "GP26": 31}
    known |= {"AGND": 33, "GP28": 34, "ADC_VREF": 35, "3V3": 36, "3V3_EN": 37, "VSYS": 39}
    known |= {"VBUS": 40}
    assert {name: places[name] for name in known} == known
    grounds = [int(pin.number) for pin in processors.kind_of("pico_w").pins if "GND" in pin.name]
    assert grounds == [3, 8, 13, 18, 23, 28, 33, 38]
    assert len(places) == 40


@pytest.mark.parametrize("board", BOARDS)
def test_the_pin_tables_agree(board):
    assert list(pin_table.faults(circuit_of(board), PINS[board])) == []


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("role", processors.ROLE_ACTS)
def test_a_moved_firmware_pin_is_found(board, role):
    moved = {**PINS[board], role: 21}
    assert any(role in fault for fault in pin_table.faults(circuit_of(board), moved))


def test_a_role_that_only_one_side_knows_is_found():
    circuit = circuit_of("pico_w")
    more = {**PINS["pico_w"], "heater": 22}
    fewer = {role: pin for role, pin in PINS["pico_w"].items() if role != "beeper"}
    assert list(pin_table.faults(circuit, more)) == [
        "pico_w: the firmware's heater is on no pin of the circuit"
    ]
    assert list(pin_table.faults(circuit, fewer)) == [
        "pico_w: GP18 is wired to BEEPER, of which the firmware knows nothing"
    ]

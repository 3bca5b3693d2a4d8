"""The build guide names only what is there, and says what the checks say."""

import json
import re

import pytest

from rockcircuit import battery
from rockcircuit.build import circuit_of
from rockhold.cli import board as board_commands
from support import ROOT

HARDWARE = ROOT / "hardware"
GUIDE = (HARDWARE / "README.md").read_text(encoding="utf-8")
CIRCUIT = circuit_of("pico_w")


def test_every_link_leads_somewhere():
    for target in re.findall(r"\]\(([^)]+)\)", GUIDE):
        path, _, anchor = target.partition("#")
        file = (HARDWARE / path).resolve() if path else HARDWARE / "README.md"
        assert file.exists(), target
        if anchor:
            heads = re.findall(r"^#+ (.+)$", file.read_text(encoding="utf-8"), re.M)
            slugs = [re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads]
            assert anchor in slugs, target


def test_every_part_named_is_in_the_circuit():
    named = set(re.findall(r"(?<![-\w])(?:R|C|D|Q|J|JP|U|S|LS|BT|F)\d{1,2}\b", GUIDE))
    assert named <= {part.ref for part in CIRCUIT.parts}
    assert {"Q1", "Q2", "Q4", "D14", "D15", "JP1", "JP2", "JP3", "R28"} <= named


def test_every_picture_is_shown():
    pictures = {path.name for path in (HARDWARE / "pictures").iterdir()}
    shown = set(re.findall(r"pictures/([\w.]+)", GUIDE))
    # simulation.md and perfboard.md show the rest
    assert pictures - shown == {"edges.png", "perfboard_parts.svg", "perfboard_wires.svg"}


def test_every_finding_of_the_check_has_a_row():
    source = (ROOT / "host/rockhold/upkeep/check.py").read_text(encoding="utf-8")
    source += (ROOT / "host/rockhold/cli/board_check.py").read_text(encoding="utf-8")
    names = set(re.findall(r'Finding\(\s*"([a-z ]+)"', source)) - {"board"}
    assert {"settings", "memory", "flash", "battery", "clock", "key"} <= names
    table = GUIDE[GUIDE.index("| `board check` finds") : GUIDE.index("Then record a first")]
    rows = [row.split("|")[1].strip() for row in table.splitlines()[2:] if row.startswith("|")]
    for name in names:
        assert any(row.startswith(name) for row in rows), name


def test_the_hours_are_the_budgets():
    rows = battery.loads(CIRCUIT)
    for recording in (False, True):
        hours = battery.hours(battery.from_cell_ma(rows, recording, frozenset()))
        assert f"About {hours:.0f} h on {battery.CELL_MAH:.0f} mAh" in GUIDE


def test_the_pico_is_told_where_its_pins_are():
    numbers = {pin.name: pin.number for pin in CIRCUIT.part("U1").kind.pins}
    assert "GND (pin 33)" in GUIDE
    assert numbers["AGND"] == "33"
    assert f"GP28 (pin {numbers['GP28']})" in GUIDE
    assert f"close to pin {numbers['3V3']}" in GUIDE


@pytest.mark.parametrize("name", ["setup", "check", "fetch"])
def test_the_commands_exist(name):
    assert f"rockhold board {name}" in GUIDE
    assert name in board_commands.command.commands


def test_the_settings_offered_are_all_of_them():
    offered = set(re.findall(r"\(settings/([\w.]+)\)", GUIDE))
    assert offered == {path.name for path in (HARDWARE / "settings").iterdir()}
    for name in offered:
        json.loads((HARDWARE / "settings" / name).read_text(encoding="utf-8"))

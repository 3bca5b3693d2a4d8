"""The programs that a builder runs by hand before the board's own is on it, on both interpreters.

What a chip does with them was never seen; here are their arithmetic, their words, and their pins.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import try_board
import try_gauge
from interpreters import micropython_command
from rockboard import settings
from rockboard.boards.pins import PINS
from rockcircuit.build import circuit_of
from rockcircuit.spice import ngspice, recorded, sweep
from support import FIRMWARE, PROTOCOL, ROOT, needs_micropython

HARDWARE = ROOT / "hardware"
RUNNER = Path(__file__).with_name("run_try.py")
SETTINGS = sorted((HARDWARE / "settings").glob("*.json"))


def run(command):
    done = subprocess.run(
        [*command, str(RUNNER), str(recorded.FOLDER)],
        capture_output=True,
        text=True,
        timeout=60,
        env={
            **os.environ,
            "MICROPYPATH": f"{HARDWARE}:{PROTOCOL}:{FIRMWARE}:.frozen",
            "PYTHONPATH": str(HARDWARE),
        },
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def said():
    rows = run([sys.executable]).splitlines()
    return dict(row.split(": ", 1) for row in rows if ": " in row)


def test_recorded_lines_are_called_good(said):
    # Seen every 8 µs: the recordings' shortest high of the clock is 46 µs, its shortest low 121.
    assert "shortest low 120 µs, shortest high 40 µs" in said["clock"]
    for line in ("data", "clock"):
        assert said[line].startswith("from 19 to 1499 mV; ")
        assert said[line].endswith("; good for the level shifter")


def test_what_will_not_do_is_called_so(said):
    assert "TOO LOW a high" in said["weak clock"]
    assert "SHORT: the level shifter passes pulses from 20 µs on" in said["fast"]
    assert "it stays low" in said["ground"]
    assert "it stays high" in said["supply"]


def test_the_board_is_described():
    rows = run([sys.executable]).splitlines()
    at = rows.index("green lamp")
    assert rows[at : at + 6] == [
        "green lamp",
        "red lamp",
        "beep",
        "beeps at 2700 on 18",
        "data low or no cable, clock HIGH at the plug",
        "  button DOWN; cell: 3960 mV; text line hears itself; bridge waits (or none); "
        "bus: a motion sensor, 0x20",
    ]
    assert rows[at + 6] == (
        "cell: off or none | cell: 4500 mV: R28 and R29 are not the same | bus: no pull-ups"
    )


@needs_micropython
def test_both_interpreters_say_the_same():
    assert run(micropython_command()) == run([sys.executable])


@pytest.mark.parametrize(("board", "pins"), [("pico_w", "PICO"), ("esp32s3", "ESP32S3")])
def test_the_pins_are_the_firmwares(board, pins):
    table = getattr(try_board, pins)
    assert table == {role: PINS[board][role] for role in table}
    assert PINS["pico2_w"] == PINS["pico_w"]
    assert try_board.pins_here("esp32") is try_board.ESP32S3
    assert try_board.pins_here("rp2") is try_board.PICO


def test_the_gauge_is_looked_at_on_a_pin_that_nothing_uses():
    for board in ("pico_w", "pico2_w"):
        processor = circuit_of(board).part("U1")
        assert "GP28" in processor.unused
        assert processor.kind.pin("GP28").number == "34"


@pytest.mark.skipif(not ngspice.installed(), reason="ngspice is not installed")
def test_the_levels_asked_for_are_the_simulations():
    low_v, high_v, faults = sweep.input_levels()
    assert faults == []
    assert pytest.approx(low_v * 1e3, abs=10) == try_gauge.LOW_MV
    assert pytest.approx(high_v * 1e3, abs=10) == try_gauge.HIGH_MV


@pytest.mark.parametrize("board", ["pico_w", "pico2_w", "esp32s3"])
@pytest.mark.parametrize("path", SETTINGS, ids=lambda path: path.stem)
def test_the_settings_are_in_order(board, path):
    text = path.read_text(encoding="utf-8")
    _, problems = settings.read(text, PINS[board])
    assert problems == []
    assert json.loads(text)["battery"] is True  # the circuit has the divider

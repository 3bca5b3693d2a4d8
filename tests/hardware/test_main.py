"""What `make hardware` runs fails when the hardware is broken on purpose, and says why."""

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner

from rockboard.boards.pins import PINS
from rockcircuit import __main__ as program
from rockcircuit import solids, written
from rockcircuit.build import circuit_of
from support_hardware import rewired


def outcome(command):
    done = CliRunner().invoke(program.main, [command])
    return done.exit_code, done.output


def test_sound_hardware_passes():
    code, said = outcome("check")
    assert code == 0, said
    assert "ok     circuit, pin table, pictures, parts list and wiring agree" in said


@pytest.mark.parametrize(
    ("damage", "expected"),
    [
        (lambda c: rewired(c, "R2", _1=None), "R2.1: on no net"),
        (lambda c: rewired(c, "U3", DT="LAMP_RED"), "U1.GP17, U3.DT drive against each other"),
        (lambda c: rewired(c, "Q2", C="GND", E="GAUGE_CLOCK"), "Q2.E: the emitter of a switch"),
        (lambda c: rewired(c, "Q2", B="GAUGE_CLOCK", C="GAUGE_CLOCK_BASE"), "Q2.B: the base"),
    ],
    ids=["a cut pin", "two outputs tied", "a wrong transistor pin", "base and collector swapped"],
)
def test_a_damaged_circuit_fails(monkeypatch, damage, expected):
    monkeypatch.setattr(
        program,
        "circuit_of",
        lambda board: damage(circuit_of(board)) if board == "pico_w" else circuit_of(board),
    )
    code, said = outcome("check")
    assert code == 1
    assert expected in said


def test_a_moved_firmware_pin_fails(monkeypatch):
    moved = {**PINS, "pico2_w": {**PINS["pico2_w"], "gauge_clock": 7}}
    monkeypatch.setattr(program, "PINS", moved)
    code, said = outcome("check")
    assert code == 1
    assert "pico2_w: gauge_clock is GP7 for the firmware and GP3 in the circuit" in said


def test_a_stale_picture_fails(monkeypatch):
    files = written.files()
    path = written.HARDWARE / "pictures" / "gauge.svg"
    monkeypatch.setattr(written, "files", lambda: {**files, path: b"<svg/>"})
    code, said = outcome("check")
    assert code == 1
    assert "gauge.svg: not what the circuit says" in said


def judged(draw, monkeypatch, tmp_path):
    """What is said of parts that are drawn so."""
    monkeypatch.setattr(solids, "_openscad", draw)
    monkeypatch.setattr(solids, "picture", lambda path: None)
    monkeypatch.setattr(program, "OUT", tmp_path)
    return outcome("solids")


def test_a_hole_in_a_solid_fails(monkeypatch, tmp_path):
    mesh = trimesh.creation.box((10, 10, 10))
    mesh.apply_translation((0, 0, 5))

    def draw(part, rod_mm, path, *options, **more):
        broken = mesh.copy()
        broken.update_faces(np.arange(len(mesh.faces)) != (5 if part == "lid" else -1))
        if path.suffix == ".stl":
            broken.export(path)
        return solids._EMPTY

    code, said = judged(draw, monkeypatch, tmp_path)
    assert code == 1
    assert "lid.stl: it has a hole" in said
    assert "tray.stl: it has" not in said


def test_parts_that_want_the_same_room_fail(monkeypatch, tmp_path):
    mesh = trimesh.creation.box((10, 10, 10))
    mesh.apply_translation((0, 0, 5))

    def draw(part, rod_mm, path, *options, **more):
        if path.suffix == ".stl":
            mesh.export(path)
        return "" if part == "bodies_clip" else solids._EMPTY

    code, said = judged(draw, monkeypatch, tmp_path)
    assert code == 1
    assert "bodies_clip (rod 8 mm): two things want the same room" in said

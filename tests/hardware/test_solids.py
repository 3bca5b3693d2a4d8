"""What cannot be printed is found: on small meshes here, on the real parts by `make hardware`."""

import shutil

import numpy as np
import pytest
import trimesh

from rockcircuit import solids
from rockcircuit.errors import SolidError


def box(size=(10, 10, 10), at=(0, 0, 5)):
    mesh = trimesh.creation.box(size)
    mesh.apply_translation(at)
    return mesh


def test_a_box_is_in_order():
    assert list(solids.faults(box())) == []


def test_a_hole_is_found():
    mesh = box()
    mesh.update_faces(np.arange(len(mesh.faces)) != 3)
    assert "it has a hole: not every edge belongs to two faces" in list(solids.faults(mesh))


def test_two_bodies_are_found():
    two = trimesh.util.concatenate([box(), box(at=(20, 0, 5))])
    assert list(solids.faults(two)) == ["it is 2 bodies, not one"]


def test_a_part_in_the_air_is_found():
    assert "it begins 3.00 mm above the bed" in list(solids.faults(box(at=(0, 0, 8))))


def test_a_part_too_long_is_found():
    assert list(solids.faults(box((200, 10, 10)))) == [
        "it is 200 mm long; a common bed takes 180 mm"
    ]


def test_a_part_inside_out_is_found():
    mesh = box()
    mesh.invert()
    assert "its volume is -1000.0 mm³" in list(solids.faults(mesh))


@pytest.mark.parametrize(("angle_deg", "hanging"), [(40, False), (44.9, False), (50, True)])
def test_an_overhang_is_found(angle_deg, hanging):
    # A frustum that grows upwards: its sides lean out by the angle from upright.
    out = 10 * np.tan(np.radians(angle_deg))
    low = np.array([[x, y, 0] for x in (-5, 5) for y in (-5, 5)], dtype=float)
    high = np.array([[x, y, 10] for x in (-5 - out, 5 + out) for y in (-5 - out, 5 + out)])
    mesh = trimesh.convex.convex_hull(np.vstack([low, high]))
    found = list(solids.faults(mesh))
    assert any("hang over" in fault for fault in found) is hanging, found


def test_no_openscad_is_said_plainly(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", "")
    with pytest.raises(SolidError, match="apt-get install openscad"):
        solids.make_all(tmp_path)


@pytest.mark.skipif(
    shutil.which("openscad") is None, reason="OpenSCAD is not installed (apt-get install openscad)"
)
def test_a_clip_from_openscad(tmp_path):
    line, found = solids._part("clip_across", 12, tmp_path / "clip.stl")
    assert found == []
    # 16 mm of rail and 3 mm on each side; the axis is 18 mm tall
    assert line.startswith("clip.stl: 22.0 x ")
    assert "x 18.0 mm" in line

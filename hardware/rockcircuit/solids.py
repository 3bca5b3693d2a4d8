"""The printed parts: made by OpenSCAD, judged by trimesh.

A part must be one watertight body, lie flat on the bed, fit a common printer, and need no support:
no face that looks down more steeply than 45° except those on the bed.
"""

import shutil
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import trimesh

from rockcircuit.errors import SolidError

SCAD = Path(__file__).parents[1] / "case" / "case.scad"
RODS_MM = (8, 10, 12)
PARTS = ("tray", "lid")
CLIPS = ("clip_along", "clip_across")
MUST_BE_EMPTY = ("bodies_tray", "bodies_lid", "bodies_button", "bodies_clip")
_BED_MM = 180.0
_STEEPEST_DEG = 45.0
_MOST_OVERHANG_MM2 = 1.0
_EMPTY = "Current top level object is empty"


def faults(mesh: trimesh.Trimesh) -> Iterator[str]:
    """Yield what keeps a mesh from being printed."""
    if not mesh.is_watertight:
        yield "it has a hole: not every edge belongs to two faces"
    if not mesh.is_winding_consistent:
        yield "some of its faces look inwards"
    if mesh.volume <= 0:
        yield f"its volume is {mesh.volume:.1f} mm³"
    if mesh.body_count != 1:
        yield f"it is {mesh.body_count} bodies, not one"
    if abs(mesh.bounds[0][2]) > 0.01:
        yield f"it begins {mesh.bounds[0][2]:.2f} mm above the bed"
    if max(mesh.extents[:2]) > _BED_MM:
        yield f"it is {max(mesh.extents[:2]):.0f} mm long; a common bed takes {_BED_MM:.0f} mm"
    hanging = overhang_mm2(mesh)
    if hanging > _MOST_OVERHANG_MM2:
        yield f"{hanging:.0f} mm² hang over more than {_STEEPEST_DEG:.0f}°"


def overhang_mm2(mesh: trimesh.Trimesh) -> float:
    """Return the area that looks down too steeply and does not lie on the bed."""
    down = mesh.face_normals[:, 2] < -np.cos(np.radians(_STEEPEST_DEG)) - 1e-3
    above = mesh.triangles_center[:, 2] > mesh.bounds[0][2] + 0.05
    return float(mesh.area_faces[down & above].sum())


def load(path: Path) -> trimesh.Trimesh:
    """Return a mesh from an STL file, its corners joined."""
    mesh: trimesh.Trimesh = trimesh.load_mesh(path)
    mesh.merge_vertices()
    return mesh


def make_all(folder: Path) -> tuple[list[str], list[str]]:
    """Write every part to a folder; return a line for each, and the faults.

    Raises:
        SolidError: If OpenSCAD is missing or fails.
    """
    folder.mkdir(parents=True, exist_ok=True)
    jobs = [(part, RODS_MM[1], f"{part}.stl") for part in PARTS]
    jobs += [(part, rod_mm, f"{part}_{rod_mm}mm.stl") for part in CLIPS for rod_mm in RODS_MM]
    checks = [(part, rod_mm) for part in MUST_BE_EMPTY[:-1] for rod_mm in RODS_MM[1:2]]
    checks += [(MUST_BE_EMPTY[-1], rod_mm) for rod_mm in RODS_MM]
    with ThreadPoolExecutor(2) as pool:
        said = list(pool.map(lambda job: _part(job[0], job[1], folder / job[2]), jobs))
        empty = list(pool.map(lambda check: _fits(*check), checks))
    lines = [line for line, _ in said]
    found = [fault for _, group in said for fault in group]
    return lines, found + [fault for fault in empty if fault]


def _part(part: str, rod_mm: int, path: Path) -> tuple[str, list[str]]:
    _openscad(part, rod_mm, path)
    if not path.exists():
        raise SolidError(f"OpenSCAD made no {path.name}")
    mesh = load(path)
    size = " x ".join(f"{length:.1f}" for length in mesh.extents)
    line = f"{path.name}: {size} mm, {mesh.volume / 1e3:.1f} cm³"
    return line, [f"{path.name}: {fault}" for fault in faults(mesh)]


def _fits(part: str, rod_mm: int) -> str:
    """Return a fault when two things want the same room."""
    said = _openscad(part, rod_mm, Path("/dev/null"), form="stl")
    return "" if _EMPTY in said else f"{part} (rod {rod_mm} mm): two things want the same room"


def picture(path: Path) -> None:
    """Write a picture of the opened box on its rod.

    Raises:
        SolidError: If it cannot be drawn.
    """
    if shutil.which("xvfb-run") is None:
        raise SolidError("the picture needs xvfb-run. Install it: apt-get install xvfb xauth")
    view = ["--camera=0,0,30,62,0,35,390", "--imgsize=900,760", "--colorscheme=Tomorrow"]
    _openscad("picture", RODS_MM[1], path, *view, before=("xvfb-run", "-a"))
    if not path.exists():
        raise SolidError("OpenSCAD drew no picture")


def _openscad(
    part: str,
    rod_mm: int,
    path: Path,
    *options: str,
    form: str = "",
    before: tuple[str, ...] = (),
) -> str:
    if shutil.which("openscad") is None:
        raise SolidError("OpenSCAD is missing. Install it: apt-get install openscad")
    command = [*before, "openscad", "-D", f'part="{part}"', "-D", f"rod={rod_mm}", *options]
    command += ["--export-format", form] if form else []
    done = subprocess.run(
        [*command, "-o", str(path), str(SCAD)],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    if done.returncode and _EMPTY not in done.stderr:
        raise SolidError(f"OpenSCAD failed at {part}:\n{done.stderr[-600:]}")
    return done.stderr

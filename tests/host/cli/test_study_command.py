"""`rockhold study` on a table and on captures."""

import json

import pytest

from rockhold.cli import exits
from support_board import Rockhold
from support_evidence import person
from support_library import base_capture, variant


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


def test_captures_become_a_study_with_a_picture(rockhold, tmp_path):
    folder = tmp_path / "captures"
    folder.mkdir()
    for end, size in enumerate((0.04, 0.08, 0.12)):
        for who, name in enumerate(("A. Miller", "B. Ortiz")):
            for trial in range(2):
                seed = 100 * end + 10 * who + trial
                base = base_capture(tmp_path / f"base-{seed}", end_play_mm=size, seed=seed)
                (folder / f"{seed}.capture").write_bytes(
                    variant(
                        base,
                        position=f"axle {end}, left",
                        opened_utc=f"2026-03-02T10:00:{trial:02}Z",
                        signer=person(name, secret=name.encode()),
                    )
                )
    (folder / "bad.capture").write_bytes(b'{"rockhold":')
    picture = tmp_path / "study.png"
    done = rockhold("study", folder, "-o", picture)
    assert done.returncode == exits.OK, done.stderr
    assert "2 people, 3 wheel ends, 2 trials each; band 0.001 to 0.005 in" in done.stdout
    assert "reproducibility" in done.stdout
    assert "Two people tell very little" in done.stdout
    assert "Left out: " in done.stderr
    assert "bad.capture" in done.stderr
    assert picture.read_bytes().startswith(b"\x89PNG")
    told = json.loads(rockhold("study", folder, "--json").stdout)
    parts = {part["name"]: part for part in told["parts"]}
    # The wheel ends were made 0.04 mm apart: s = 0.04; the gauge's count is 0.0127 mm.
    assert parts["wheel ends"]["s_mm"] == pytest.approx(0.04, abs=0.012)
    assert parts["measuring system"]["s_mm"] < 0.012


def test_holes_in_the_table_get_a_sentence(rockhold, tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        "person,wheel_end,trial,end_play_mm\n"
        "A,w1,1,0.1\nA,w1,2,0.1\nA,w2,1,0.2\nA,w2,2,0.2\nB,w1,1,0.1\n"
    )
    done = rockhold("study", path)
    assert done.returncode == exits.NOT_MEASURABLE
    assert "everybody must measure every wheel end equally often" in done.stderr

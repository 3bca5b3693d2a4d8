"""`rockhold tools` as a person uses it."""

import json
import sys
from types import SimpleNamespace

import pytest

from rockhold.cli import exits, main


@pytest.fixture
def rockhold(tmp_path, monkeypatch, capsys):
    """The command line in this process, with a home of its own."""
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path / "home"))

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["rockhold", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        return SimpleNamespace(returncode=ended.value.code, stdout=out, stderr=err)

    return run


def test_a_tool_from_its_certificate_to_its_end(rockhold, tmp_path):
    assert "Add one: rockhold tools add" in rockhold("tools", "list").stdout
    added = rockhold(
        "tools", "add", "D3", "--kind", "indicator", "--step-in", "0.0005", "--mpe-in", "0.001",
        "--serial", "81-7", "--certificate", "K-1", "--calibrated-on", "2020-02-29",
    )  # fmt: skip
    assert added.returncode == exits.OK, added.stderr
    shown = json.loads(rockhold("tools", "show", "D3", "--json").stdout)
    assert shown["mpe_mm"] == 0.0254  # 0.001 in, exact
    assert shown["due_on"] == "2021-02-28"
    assert shown["overdue"] is True
    assert "OVERDUE" in rockhold("tools", "list").stdout
    assert "is overdue" in rockhold("tools", "show", "D3").stdout
    wrench = rockhold(
        "tools", "add", "W7", "--kind", "torque tool", "--largest-nm", "400",
        "--calibrated-on", "2026-03-02", "--months", "600",
    )  # fmt: skip
    assert wrench.returncode == exits.USAGE
    wrench = rockhold("tools", "add", "W7", "--kind", "torque tool", "--largest-nm", "400")
    assert "±4 %" in wrench.stdout
    gone = rockhold("tools", "retire", "W7", "--because", "dropped")
    assert "dropped" in gone.stdout
    rows = [json.loads(row) for row in rockhold("tools", "list", "--json").stdout.splitlines()]
    assert [row["id"] for row in rows] == ["D3", "W7"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("show", "D9"), "no tool"),
        (("add", "D 9", "--kind", "indicator"), "id has 1 to 32"),
        (("add", "D9", "--kind", "indicator", "--mpe-percent", "4"), "does not belong"),
        (("add", "D9", "--kind", "indicator", "--calibrated-on", "soon"), "2026-03-02"),
        (("add", "D9", "--kind", "indicator", "--mpe-mm", "nan"), "above zero"),
        (("retire", "D9", "--because", " "), "can be printed"),
    ],
)
def test_what_does_not_fit_is_said_in_a_sentence(rockhold, arguments, words):
    done = rockhold("tools", *arguments)
    assert done.returncode == exits.USAGE
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_recording_refuses_a_tool_that_is_not_there(rockhold, tmp_path):
    done = rockhold("record", tmp_path / "x.capture", "--technician", "A. Miller", "--tool", "D9")
    assert done.returncode == exits.USAGE
    assert 'there is no tool "D9"' in done.stderr


def test_what_to_set_through_an_adapter(rockhold):
    # US Navy NAVEDTRA 14008: an adapter of 2 pointing back on a lever of 36, 300 wanted: 317.65.
    back = rockhold(
        "tools", "setting", "300", "--lever", "36", "--extension", "2", "--angle", "180"
    )
    assert "Set the wrench to 317.6 for 300 at the nut." in back.stdout
    square = rockhold("tools", "setting", "200", "--lever", 18, "--extension", 2, "--angle", "90")
    assert "200.0" in square.stdout
    none = rockhold("tools", "setting", "200", "--lever", "0", "--extension", "2")
    assert none.returncode == exits.USAGE
    assert "lever" in none.stderr

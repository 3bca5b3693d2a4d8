"""verify and measure over many files: stopped, continued, and whole all the while."""

import json
import os
import signal
import subprocess
import time
from pathlib import Path

import pytest

from rockhold.cli import cli, exits
from support import ROOT
from support_board import Rockhold
from support_library import base_capture

COUNT = 120


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    folder = tmp_path_factory.mktemp("archive")
    base = base_capture(folder / "000.capture")
    for number in range(1, COUNT):
        (folder / f"{number:03}.capture").write_bytes(base if number % 50 else base[:-9])
    return folder


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.mark.parametrize("command", ["verify", "measure"])
def test_ctrl_c_leaves_whole_lines_and_the_same_command_goes_on(
    rockhold, archive, tmp_path, command
):
    line = [*rockhold.command, command, str(archive), "--json", "--done-list", tmp_path / "done"]
    out = tmp_path / "out"
    with (
        out.open("wb") as file,
        subprocess.Popen(
            line, env=rockhold.env, stdout=file, stderr=subprocess.PIPE, text=True,
            start_new_session=True,
        ) as running,
    ):  # fmt: skip
        while not out.stat().st_size:
            time.sleep(0.01)
        os.killpg(running.pid, signal.SIGINT)  # as a terminal does: to the workers, too
        _, told = running.communicate(timeout=60)
    assert running.returncode == exits.INTERRUPTED, told
    before = [json.loads(one)["file"] for one in out.read_text().splitlines()]
    assert 0 < len(before) < COUNT
    assert f"Stopped: {len(before)} files done, about {COUNT - len(before)} left." in told
    assert "The same command goes on from here." in told
    done = rockhold(command, archive, "--json", "--done-list", tmp_path / "done")
    after = [json.loads(one)["file"] for one in done.stdout.splitlines()]
    assert sorted(before + after) == sorted(map(str, archive.glob("*.capture")))
    assert not done.stderr


def test_files_done_before_count_for_the_exit_code(rockhold, archive, tmp_path):
    few = [archive / "000.capture", archive / "050.capture"]
    first = rockhold("verify", *few, "--done-list", tmp_path / "done")
    again = rockhold("verify", *few, "--done-list", tmp_path / "done")
    assert first.returncode == again.returncode == exits.UNKNOWN_KEY
    assert "2 more were done before" in again.stdout
    other = rockhold("measure", *few, "--done-list", tmp_path / "done")
    assert other.returncode == exits.USAGE
    assert "name another list" in other.stderr


def test_measure_takes_folders_and_names_files_as_they_were_typed(rockhold, archive):
    few = archive / "few"
    few.mkdir()
    (few / "a.capture").write_bytes((archive / "000.capture").read_bytes())
    for typed in (few, f"{few}/./a.capture"):
        done = rockhold("measure", "--json", typed)
        name = str(few / "a.capture") if typed is few else typed
        assert json.loads(done.stdout)["file"] == name
    (few / "a.capture").unlink()
    empty = rockhold("measure", few)
    assert empty.returncode == exits.USAGE
    assert "no captures in" in empty.stderr
    few.rmdir()


def test_odd_files_stop_no_command(tmp_path, monkeypatch, capfd):
    """A pipe that nobody writes to, a name that is not UTF-8, a name that steers a terminal."""
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path / "home"))
    folder = tmp_path / "shop"
    folder.mkdir()
    good = (ROOT / "demo_captures" / "good.capture").read_bytes()
    os.mkfifo(folder / "a-pipe.capture")
    Path(os.fsdecode(os.fsencode(folder) + b"/b-\xff.capture")).write_bytes(good)
    (folder / "c-\x1b[2J.capture").write_bytes(good)
    (folder / "d-folder.capture").mkdir()
    index = ("--index", str(tmp_path / "index.db"))
    for words, code in (
        (("verify",), exits.BAD_FILE), (("measure",), exits.BAD_FILE),
        (("library", "add", *index), exits.BAD_FILE), (("export", "--results"), exits.OK),
        (("report", "--out", str(tmp_path / "reports")), exits.OK),
    ):  # fmt: skip
        assert cli([*words, str(folder)], standalone_mode=False) == code, words
        said = "".join(capfd.readouterr())
        assert "\x1b[2J" not in said
        said.encode("utf-8")
    for words in (("verify", "--json"), ("measure", "--json")):
        cli([*words, str(folder)], standalone_mode=False)
        objects = [json.loads(line) for line in capfd.readouterr().out.splitlines()]
        assert [os.path.basename(one["file"]) for one in objects] == [  # noqa: PTH119
            "a-pipe.capture", "b-\udcff.capture", "c-\x1b[2J.capture",
        ]  # fmt: skip

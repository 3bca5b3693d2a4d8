"""The whole job as the README shows it: demo, verify, measure, export, plot."""

import json
import random
import signal
import subprocess

import pytest

from rockhold.cli import exits
from rockhold.measure.plunger import NOT_NOTED
from support import needs_micropython
from support_board import Rockhold, wait_until

pytestmark = needs_micropython
EARLIER = b"what an earlier demo left"


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    rockhold = Rockhold(folder / "home")
    out = folder / "out"
    out.mkdir()
    (out / "demo-1.capture").write_bytes(EARLIER)
    done = rockhold("demo", "--out", out, "--speed", "10")
    return rockhold, out / "demo-2.capture", done


def test_it_ends_with_number_verdict_and_paths(played):
    _, capture, done = played
    assert done.returncode == exits.OK, done.stderr
    for words in (
        "End play 0.00",
        "Verdict: accept",
        str(capture),
        "demo-2.png",
        "never permission",
    ):
        assert words in done.stdout
    assert capture.with_suffix(".png").read_bytes().startswith(b"\x89PNG")


def test_the_measured_end_play_is_the_simulated_one(played):
    rockhold, capture, _ = played
    row = json.loads(rockhold("measure", "--json", capture).stdout)
    assert abs(row["end_play_mm"] - 0.003 * 25.4) < row["expanded_mm"]
    assert [hold["side"] for hold in row["holds"]] == ["out", "in"] * 3


def test_capture_and_csv_give_the_same_end_play(played):
    rockhold, capture, _ = played
    csv = capture.with_suffix(".csv")
    assert rockhold("export", capture, "-o", csv).returncode == exits.OK
    assert csv.read_text().startswith("t_s,travel_in\n")
    rows = [
        json.loads(line) for line in rockhold("measure", "--json", capture, csv).stdout.splitlines()
    ]
    assert rows[0].pop("file") != rows[1].pop("file")
    assert len(rows[0].pop("pulls")) == 12  # three and three at the nut, six at the hub cap
    # Only the capture knows how the wheel turned, and where the plunger hung free.
    assert abs(rows[0]["end_play_mm"] - rows[1]["end_play_mm"]) < rows[0]["u_mm"]
    doubt = "note where it hangs free before the base is set"
    assert doubt in NOT_NOTED.text
    assert doubt in rows[1]["sentence"]
    assert doubt not in rows[0]["sentence"]
    assert rows[0]["verdict"] == "accept"  # which a coarse gauge alone may leave undecided
    for name in ("cycles", "findings", "step_mm", "rate_hz"):
        assert rows[0][name] == rows[1][name], name


def test_verify_passes_and_any_changed_byte_fails_with_its_place(played, tmp_path):
    rockhold, capture, _ = played
    good = rockhold("verify", capture)
    assert good.returncode == exits.OK, good.stdout
    data = capture.read_bytes()
    rng = random.Random(5)
    changed = []
    for number in range(12):
        at = rng.randrange(len(data) - 1)
        path = tmp_path / f"{number}.capture"
        path.write_bytes(data[:at] + bytes((data[at] ^ 1 << rng.randrange(8),)) + data[at + 1 :])
        changed.append((path, data.count(b"\n", 0, at) + 1))
    bad = rockhold("verify", "--json", *[path for path, _ in changed])
    assert bad.returncode != exits.OK
    for row, (path, line) in zip(bad.stdout.splitlines(), changed, strict=True):
        found = json.loads(row)
        assert found["file"] == str(path)
        assert found["state"] != "good"
        assert found["damage"]["line"] == line, found


def test_plot_of_capture_and_csv(played, tmp_path):
    rockhold, capture, _ = played
    for name in ("a.png", "a.svg"):
        done = rockhold("plot", capture, "-o", tmp_path / name)
        assert done.returncode == exits.OK, done.stderr
    assert (tmp_path / "a.svg").read_text().count("<svg") == 1
    again = rockhold("plot", capture, "-o", tmp_path / "a.png")
    assert again.returncode == exits.USAGE
    assert "already there" in again.stderr
    other = rockhold("plot", capture, "-o", tmp_path / "a.jpg")
    assert "must end in .png or .svg" in other.stderr


def test_a_second_demo_overwrites_nothing(played):
    _, capture, _ = played
    assert capture.exists()
    assert capture.with_name("demo-1.capture").read_bytes() == EARLIER


@pytest.mark.parametrize("options", [["--speed", "0"], ["--seed", "-1"]])
def test_options_that_do_not_fit(played, options):
    done = played[0]("demo", *options)
    assert done.returncode == exits.USAGE
    assert "Traceback" not in done.stderr


def test_practice_stays_until_it_is_told_to_end(tmp_path):
    rockhold = Rockhold(tmp_path / "home")
    lines = "dance\nbutton\n\nend\n"
    done = subprocess.run(
        [*rockhold.command, "practice", "--port", tmp_path / "port"],
        input=lines, capture_output=True, text=True, timeout=60, env=rockhold.env,
    )  # fmt: skip
    assert done.returncode == exits.OK, done.stderr
    assert f"--port {tmp_path / 'port'} --technician" in done.stdout
    assert "Not done: 'dance' is none of pull, rock" in done.stdout
    assert "The board's button was pressed." in done.stdout
    assert not (tmp_path / "port").is_symlink()


def test_practice_leaves_nothing_behind_when_its_window_is_closed(tmp_path):
    rockhold = Rockhold(tmp_path / "home")
    port = tmp_path / "port"
    running = subprocess.Popen(
        [*rockhold.command, "practice", "--port", port],
        env=rockhold.env | {"TMPDIR": str(tmp_path)},
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    with running:
        wait_until(lambda: port.is_symlink())
        running.send_signal(signal.SIGHUP)
        assert running.wait(20) == exits.INTERRUPTED
    assert not port.is_symlink()
    assert not list(tmp_path.glob("rockhold-[bp]*"))  # board, practice

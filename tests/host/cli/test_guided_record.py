"""`rockhold record --procedure` over the board's own program, to a sealed capture."""

import json
import signal

import pytest

from rockhold.capture.reader import read_capture
from rockhold.capture.steps import attempts_of
from rockhold.cli import exits
from rockhold.procedure.load import load_procedure, shipped_names
from rockhold.simulator.jobbench import JobBench
from rockhold.simulator.unix_board import UnixBoard
from support import needs_micropython
from support_board import Rockhold
from support_guided import answers_for, board_flash, broken_off, gone_on

pytestmark = needs_micropython
# Two with the adapter's pulls; in the others the person counts, which is quicker.
WITH_ADAPTER = ("double-nut-drive", "hub-cap")
GUIDED = [name for name in shipped_names() if name not in ("end-play", "inspection")]


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


def played(rockhold, folder, procedure, answers, *more, end_plays_in=(0.003,), name="a.capture"):
    """Run a job to its end and return the finished process and the capture's path."""
    path = folder / name
    script = folder / "answers.txt"
    script.write_text(answers)
    with UnixBoard("bench board", folder / "secret", board_flash(folder / "flash")) as board:
        bench = JobBench(board, path, end_plays_in, speed=60.0)
        bench.start()
        done = rockhold(
            "record", path, "--technician", "A. Tester", "--port", board.device,
            "--procedure", procedure, "--answers", script, *more,
        )  # fmt: skip
        bench.end()
    assert "Traceback" not in done.stderr
    return done, path


@pytest.mark.parametrize("name", GUIDED)
def test_each_shipped_procedure_to_a_sealed_capture(rockhold, tmp_path, name):
    answers = answers_for(name, by_hand=name not in WITH_ADAPTER)
    done, path = played(rockhold, tmp_path, name, answers)
    assert done.returncode == exits.OK, done.stderr[-2000:] + done.stdout
    steps = load_procedure(name).steps
    wanted = [step.id for step in steps if not step.after_failed]
    closed = [a for a in attempts_of(read_capture(path)) if a.outcome == "done"]
    assert [a.step for a in closed] == wanted
    assert f"Steps: all {len(wanted)} done." in done.stdout
    assert "not permission to drive" in done.stdout
    assert path.read_bytes().splitlines()[-1].startswith(b'{"seal":"')
    if name in WITH_ADAPTER:
        pulls = [pull for a in closed if a.kind == "torque" for pull in a.values["pulls"]]
        assert len(pulls) == sum(s.torque.pulls_in_all for s in steps if s.torque)
        assert all(pull["counts"] for pull in pulls)


def test_a_failed_and_a_skipped_step_are_said_everywhere(rockhold, tmp_path):
    instead = {
        "seal": ["no weeping at the bottom", "leave"],
        "speed-sensor": ["skip 1"],
        "end-play": ["measure", "mend"],
        "adjust": ["done"],
    }
    lines = answers_for("single-nut-trailer", by_hand=True, instead=instead).splitlines()
    at = lines.index("end-play: mend")
    lines[at + 1 : at + 1] = [
        "adjust: done", "lock: yes", "indicator: yes", "end-play: measure",
    ]  # fmt: skip
    done, path = played(
        rockhold, tmp_path, "single-nut-trailer", "\n".join(lines), end_plays_in=(0.009, 0.003)
    )
    assert done.returncode == exits.STEPS_OPEN, done.stderr[-1500:]
    assert "NOT FINISHED" in done.stdout
    assert "Wheel-speed sensor: skipped: not fitted on this wheel end" in done.stdout
    assert "Inboard side: wheel seal: failed: weeping at the bottom" in done.stdout
    row = json.loads(rockhold("measure", path, "--json").stdout)
    assert abs(row["end_play_mm"] - 0.003 * 25.4) < row["expanded_mm"]  # the last attempt's
    found = rockhold("verify", path)
    assert found.returncode == exits.UNKNOWN_KEY, found.stdout  # the bench board's
    for words in ("FAILED", "weeping at the bottom", "SKIPPED", "not fitted", "attempt 2"):
        assert words in found.stdout, found.stdout
    steps = json.loads(rockhold("export", path, "--what", "steps").stdout)
    assert [s["outcome"] for s in steps if s["step"] == "end-play"] == ["failed", "done"]
    csv = path.with_suffix(".csv")
    assert rockhold("export", path, "-o", csv).returncode == exits.OK
    again = json.loads(rockhold("measure", csv, "--json").stdout)
    assert again["end_play_mm"] == row["end_play_mm"]


def test_killed_and_resumed_it_goes_on_at_the_right_step(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    first, *rest = answers_for("end-play-and-spin").splitlines()
    until = b'"indicator"'
    with UnixBoard("bench board", tmp_path / "secret", board_flash(tmp_path / "flash")) as board:
        broken_off(
            rockhold, board, path, "end-play-and-spin", [first, "end-play: measure"], until,
            signal.SIGKILL,
        )  # fmt: skip
        bench = JobBench(board, path, speed=60.0)
        bench.start()
        gone_on(rockhold, board, path, rest)
        bench.end()
    assert rockhold("verify", path).returncode == exits.UNKNOWN_KEY  # the bench board's


def test_a_free_plunger_that_was_noted_is_known_after_the_host_was_killed(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    _, *rest = answers_for("end-play-and-spin").splitlines()
    setting_up = ["indicator: free", "indicator: set", "end-play: measure"]
    with UnixBoard("bench board", tmp_path / "secret", board_flash(tmp_path / "flash")) as board:
        bench = JobBench(board, path, speed=60.0)
        bench.start()
        broken_off(
            rockhold,
            board,
            path,
            "end-play-and-spin",
            setting_up,
            b'"free_stop_us"',
            signal.SIGKILL,
        )
        gone_on(rockhold, board, path, rest)
        bench.end()
    done = {a.step: a.values for a in attempts_of(read_capture(path)) if a.outcome == "done"}
    assert done["end-play"]["free_stop_us"] == done["indicator"]["free_stop_us"]
    assert rockhold("verify", path).returncode == exits.UNKNOWN_KEY  # the bench board's


def test_stopped_today_and_gone_on_with_tomorrow(rockhold, tmp_path):
    lines = answers_for("hub-cap", by_hand=True).splitlines()
    stopped = "\n".join([lines[0], "cap-screws: stop"])
    done, path = played(rockhold, tmp_path, "hub-cap", stopped)
    assert done.returncode == exits.STEPS_OPEN
    assert "--resume" in done.stdout
    before = path.read_bytes()
    (tmp_path / "answers.txt").write_text("\n".join(lines[1:]))
    with UnixBoard("bench board", tmp_path / "secret", tmp_path / "flash") as board:
        done = rockhold(
            "record", path, "--resume", "--port", board.device,
            "--answers", tmp_path / "answers.txt",
        )  # fmt: skip
    assert done.returncode == exits.OK, done.stderr[-1500:]
    assert path.read_bytes() == before
    other = tmp_path / "a-2.capture"
    first, second = read_capture(path), read_capture(other)
    assert second.header["continues"] == first.header["capture"]
    steps = {a.step: a for a in attempts_of(second)}
    assert set(steps) == {"gasket", "cap-screws", "vent"}
    # What was done before keeps its time.
    assert steps["gasket"].ended_utc_us == attempts_of(first)[0].ended_utc_us
    assert rockhold("verify", other).returncode == exits.UNKNOWN_KEY  # the bench board's


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ("gasket: perhaps\n", "line 1: write STEP"),
        ("gasket: skip\n", "line 1: skip needs a reason"),
        ("vent: yes\n", "line 1: is for vent, but the job is at gasket"),
    ],
)
def test_answers_that_do_not_fit(rockhold, tmp_path, answers, words):
    done, path = played(rockhold, tmp_path, "hub-cap", answers)
    assert done.returncode == exits.USAGE
    assert words in done.stderr
    # What was begun is not lost, and how to go on with it is told.
    assert path.exists() == (f"To go on: `rockhold record {path} --resume" in done.stderr)


def test_facts_of_vehicle_and_wheel_end_stand_in_the_header(rockhold, tmp_path):
    facts = tmp_path / "vehicle.toml"
    facts.write_text(
        '[vehicle]\nnumber = "R-101"\nmake = "invented"\nserial = "0001"\nyear = 2019\n'
        'tyre_size = "295/75R22.5"\nowner = "R. Lessor"\n'
        '[work]\nnature = "bearing adjustment"\ndue_on = 2027-02-01\n[wheel_end]\naxle = 2\n'
    )
    done, path = played(
        rockhold, tmp_path, "hub-cap", answers_for("hub-cap", by_hand=True),
        "--vehicle-file", facts, "--side", "left", "--threads", "12",
    )  # fmt: skip
    assert done.returncode == exits.OK, done.stderr
    header = read_capture(path).header
    assert header["vehicle"]["tyre_size"] == "295/75R22.5"
    assert header["wheel_end"] == {"axle": 2, "side": "left", "threads_per_inch": 12.0}
    assert header["work"] == {"nature": "bearing adjustment", "due_on": "2027-02-01"}
    facts.write_text('[vehicle]\nnumber = "R-101"\nmodel = "x"\n')
    done = rockhold("record", tmp_path / "b.capture", "--technician", "A", "--vehicle-file", facts)
    assert done.returncode == exits.USAGE
    assert "vehicle.toml, line 3: vehicle.model: unknown" in done.stderr


def test_no_terminal_and_no_answers(rockhold, tmp_path):
    done = rockhold("record", tmp_path / "a.capture", "--technician", "A", "--procedure", "hub-cap")
    assert done.returncode == exits.USAGE
    assert "--answers FILE" in done.stderr
    assert not (tmp_path / "a.capture").exists()

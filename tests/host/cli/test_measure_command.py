"""`rockhold measure` as a user calls it."""

import json
import re

import numpy as np
import pytest
from click.testing import CliRunner

from host.measure.jobs import COARSE, FINE, measured
from rockhold.cli import exits
from rockhold.cli.measure import command
from rockhold.cli.plot import command as plot
from rockhold.report.words import result_lines
from support import ROOT


def write(path, trace, unit="mm"):
    scale = 1.0 if unit == "mm" else 1 / 25.4
    table = np.column_stack((trace.t_s, trace.travel_mm * scale))
    head = f"t_s,travel_{unit}"
    np.savetxt(path, table, fmt="%.6f", delimiter=",", header=head, comments="")
    return str(path)


def run(*args):
    # The exit code is what the command returns; rockhold.cli.main hands it to the system.
    outcome = CliRunner().invoke(command, list(args), standalone_mode=False)
    assert outcome.exception is None, outcome.output
    return outcome.return_value, outcome.stdout


def test_one_object_per_file_and_bad_files_do_not_stop(tmp_path):
    good = write(tmp_path / "good.csv", measured(FINE, 1002)[0])
    empty = tmp_path / "empty.csv"
    empty.write_text("")
    short = tmp_path / "short.csv"
    short.write_text("t_s,travel_mm\n0,0.01\n0.1,0.01\n")
    code, text = run("--json", str(empty), good, str(short), str(tmp_path / "none.csv"))
    rows = [json.loads(line) for line in text.splitlines()]
    assert [row["file"] for row in rows] == [
        str(empty),
        good,
        str(short),
        str(tmp_path / "none.csv"),
    ]
    assert code == exits.BAD_FILE
    assert rows[0]["verdict"] is None
    assert "line 1" in rows[0]["error"]
    assert rows[1]["verdict"] in ("accept", "reject", "undecided")
    assert rows[2]["verdict"] is None
    assert rows[2]["findings"][0]["code"] == "no_hold"


@pytest.mark.parametrize(
    ("seed", "gauge"), [(1002, FINE), (1003, FINE), (1004, COARSE), (1005, COARSE)]
)
def test_file_gives_what_the_trace_gives(tmp_path, seed, gauge):
    trace, _, result = measured(gauge, seed)
    expected = {
        "accept": exits.OK,
        "reject": exits.REJECTED,
        "undecided": exits.UNDECIDED,
        None: exits.NOT_MEASURABLE,
    }
    for unit in ("mm", "in"):
        code, text = run("--json", write(tmp_path / f"{unit}.csv", trace, unit))
        row = json.loads(text)
        assert row["verdict"] == result.verdict
        assert row["end_play_mm"] == pytest.approx(result.end_play_mm, abs=2e-6)
        assert code == expected[result.verdict]


def test_words_for_a_person(tmp_path):
    _, text = run(write(tmp_path / "a.csv", measured(FINE, 1002)[0]))
    assert "End play" in text
    assert "mm" in text


def test_certificate_and_step_options(tmp_path):
    path = write(tmp_path / "a.csv", measured(FINE, 1002)[0])
    plain = json.loads(run("--json", path)[1])
    wide = json.loads(run("--json", path, "--mpe-mm", "0.01", "--step-mm", "0.00127")[1])
    assert wide["u_mm"] > plain["u_mm"]
    outcome = CliRunner().invoke(command, [path, "--step-mm", "-1"])
    assert outcome.exit_code == exits.USAGE
    assert "--step-mm" in outcome.output


def test_many_files_in_parallel_keep_their_order(tmp_path):
    trace = measured(COARSE, 1004)[0]
    names = [write(tmp_path / f"{i:03d}.csv", trace) for i in range(45)]
    _, text = run("--json", *names)
    rows = [json.loads(line) for line in text.splitlines()]
    assert [row["file"] for row in rows] == names
    assert len({row["end_play_mm"] for row in rows}) == 1


def test_a_job_that_did_not_come_to_its_end_play_gives_its_pulls(tmp_path):
    lines = (ROOT / "demo_captures" / "whole-job.capture").read_bytes().splitlines(keepends=True)
    at = next(n for n, line in enumerate(lines) if b'"step":"final-back-off"' in line)
    path = tmp_path / "cut.capture"
    path.write_bytes(b"".join(lines[:at]))
    code, out = run(str(path))
    assert code == exits.NOT_MEASURABLE
    assert "no end play was measured in this job" in out
    # The demo pulls to 101 % of what is asked for.
    peaks = [float(peak) for peak in re.search(r"peaks in lbf·ft: (.*)", out)[1].split(", ")]
    assert [round(peak / 100) for peak in peaks] == [2, 2, 2, 1, 1, 1]
    # 1 lbf·ft is 1.355818 N·m (NIST SP 811, B.8).
    first_nm = float(re.search(r"peaks in N·m: ([\d.]+)", out)[1])
    assert first_nm == pytest.approx(1.355818 * peaks[0], abs=0.1)
    picture = tmp_path / "cut.svg"
    done = CliRunner().invoke(plot, [str(path), "-o", str(picture)], standalone_mode=False)
    assert done.exception is None
    assert "peak of each pull" in picture.read_text("utf-8")


def test_the_probability_beside_a_number_is_the_procedures():
    row = json.loads(run("--json", str(ROOT / "demo_captures" / "good.capture"))[1])
    assert "95 %)" in result_lines(row)[0]
    assert "99 %)" in result_lines({**row, "coverage": 0.99})[0]

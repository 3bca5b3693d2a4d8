"""Torque of a capture: read back, with its pulls, and told by the commands."""

import dataclasses
import json
import re
import sys

import numpy as np
import pytest

from rockhold.capture.channels import TORQUE, TURNING, channel_of, channels_of
from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.cli import main
from rockhold.errors import CaptureFormatError
from rockhold.evidence.verify import verify_file
from rockhold.measure.trace import MM_PER_INCH
from rockwire import messages as m
from rockwire.units import Scale
from support_evidence import JOB, TRUST
from support_torque import PULLS, torque_capture


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    wrench = {"kind": "torque tool", "id": "W7", "mpe_percent": 4.0}
    job = dataclasses.replace(JOB, tools=(wrench,))
    return torque_capture(tmp_path_factory.mktemp("c") / "job.capture", job=job)


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """The command line in this process: exit code and what it prints."""
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["rockhold", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        return ended.value.code, capsys.readouterr()

    return run


def test_the_torque_comes_back_in_newton_metres(made):
    path, stream = made
    (channel,) = channels_of(read_capture(path))
    assert (channel.holds, channel.name) == (TORQUE, "torque")
    assert np.array_equal(channel.t_us, stream.t_us)
    # Half a tenth of a lbf·ft (NIST SP 811, B.8: 1.355 818 N·m each).
    assert np.abs(channel.value - stream.torque_nm).max() <= 0.0678
    assert channel_of(read_capture(path), TURNING) is None


def test_its_pulls_are_found_and_the_capture_still_verifies(made):
    path, stream = made
    pulls = torque_trace_of(read_capture(path)).pulls
    peaks = [true.peak_nm for true in stream.truth]
    assert [pull.peak_nm for pull in pulls] == pytest.approx(peaks, rel=0.01)
    assert verify_file(path, TRUST).state == "good"


def test_measure_tells_the_pulls_beside_the_result(made, run):
    path, _ = made
    _, said = run("measure", "--json", path)
    row = json.loads(said.out)
    assert len(row["pulls"]) == len(PULLS)
    assert row["pulls"][0]["click"] is True
    # JCGM 100:2008, 4.3.7: 4 % rectangular is 2.31 % standard uncertainty, and a little for what
    # lies between two readings.
    assert row["pulls"][0]["u_nm"] / row["pulls"][0]["peak_nm"] == pytest.approx(0.0231, abs=2e-4)
    assert row["end_play_mm"] == pytest.approx(0.003 * MM_PER_INCH, abs=0.02)
    assert "Torque pulls, peaks in N·m: 27" in run("measure", path)[1].out


def test_export_writes_the_torque(made, run, tmp_path):
    path, stream = made
    code, said = run("export", path, "--what", "torque")
    lines = said.out.splitlines()
    assert (code, lines[0]) == (0, "t_s,torque_nm")
    values = np.array([[float(x) for x in line.split(",")] for line in lines[1:]])
    assert values[:, 0] == pytest.approx(stream.t_us / 1e6)
    assert values[:, 1].max() == pytest.approx(stream.torque_nm.max(), abs=0.07)
    code, said = run("export", path, "--what", "knock")
    assert (code, said.err) == (5, f"rockhold: {path} holds no readings of knock\n")


def test_plot_has_a_panel_for_the_torque(made, run, tmp_path):
    path, _ = made
    picture = tmp_path / "job.svg"
    assert run("plot", path, "-o", picture)[0] == 0
    text = picture.read_text()
    assert "torque, lbf·ft" in text
    assert re.search(r"2 pulls, peaks (199|200)\.\d, 22\d\.\d lbf·ft", text)


@pytest.mark.parametrize(
    ("batches", "words"),
    [
        ([((5, 4), (1, 1))], "go back in time"),
        ([((5, 6), (1, 1)), ((5, 6), (1, 1))], "go back in time"),
        ([((5, 1 << 63), (1, 1))], "go back in time"),
        ([((5, 6), (1, 1 << 40))], "no instrument can send"),
    ],
)
def test_what_no_instrument_sends_is_refused(made, monkeypatch, batches, words):
    path, _ = made
    frames = [
        type("Frame", (), {"message": m.Readings(1, Scale(3, 1, -1), times, counts)})
        for times, counts in batches
    ]
    monkeypatch.setattr("rockhold.capture.channels.frames_of", lambda capture: iter(frames))
    with pytest.raises(CaptureFormatError, match=words):
        channels_of(read_capture(path))

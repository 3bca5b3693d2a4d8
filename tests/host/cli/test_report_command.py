"""`rockhold report` as a person meets it."""

import pytest

from rockhold.cli import exits
from support_board import Rockhold
from support_evidence import make_capture


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


def test_a_report_lands_beside_its_capture_and_is_not_overwritten(rockhold, tmp_path):
    path = make_capture(tmp_path / "left.capture")
    done = rockhold("report", path)
    assert done.returncode == exits.OK, done.stderr
    assert f"Report: {tmp_path / 'left.html'} (unknown key)" in done.stdout
    assert "thousandths of an inch" in (tmp_path / "left.html").read_text()
    again = rockhold("report", path)
    assert again.returncode == exits.USAGE
    assert "--force" in again.stderr
    assert rockhold("report", path, "--metric", "--force").returncode == exits.OK
    assert "thousandths of an inch" not in (tmp_path / "left.html").read_text()
    done = rockhold("report", path, "-o", tmp_path / "left.pdf")
    assert done.returncode == exits.OK, done.stderr
    assert (tmp_path / "left.pdf").read_bytes().startswith(b"%PDF")


def test_a_bad_file_stops_no_other(rockhold, tmp_path):
    good = make_capture(tmp_path / "good.capture")
    bad = tmp_path / "bad.capture"
    bad.write_bytes(b"hello")
    out = tmp_path / "reports"
    done = rockhold("report", tmp_path / "missing.capture", bad, good, "-o", out, "--pdf")
    assert done.returncode == exits.BAD_FILE
    assert "No such file" in done.stderr
    assert sorted(path.name for path in out.iterdir()) == ["bad.pdf", "good.pdf"]
    assert "Traceback" not in done.stderr


def test_one_name_for_many_reports_is_refused(rockhold, tmp_path):
    done = rockhold("report", "a.capture", "b.capture", "-o", tmp_path / "x.html")
    assert done.returncode == exits.USAGE
    assert "name a folder" in done.stderr


def test_a_disk_that_refuses(rockhold, tmp_path):
    path = make_capture(tmp_path / "a.capture")
    (tmp_path / "file").write_text("")
    done = rockhold("report", path, "-o", tmp_path / "file" / "a.html")
    assert done.returncode == exits.DISK
    assert "cannot write" in done.stderr

"""The package as a notebook uses it: its documentation's examples, run."""

import doctest
import subprocess
import sys

import pytest

import rockhold
import rockhold.api
from rockhold.errors import CaptureFormatError
from support import ROOT


def test_the_documentations_examples(monkeypatch, tmp_path):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))
    done = doctest.testmod(rockhold.api, optionflags=doctest.REPORT_NDIFF)
    assert done.attempted >= 9
    assert done.failed == 0


def test_what_is_no_capture_is_refused_with_a_sentence(tmp_path):
    path = tmp_path / "x.capture"
    path.write_text("hello")
    with pytest.raises(CaptureFormatError, match="not a capture"):
        rockhold.open_capture(path)


def test_the_command_line_starts_without_the_heavy_libraries():
    heavy = ("numpy", "scipy", "matplotlib", "jinja2", "typst", "pyarrow", "cryptography")
    program = (
        "import sys; from rockhold.cli import cli; cli(['--help'], standalone_mode=False);"
        f"sys.exit(','.join(sorted(set({heavy!r}) & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr

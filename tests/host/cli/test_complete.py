"""What TAB offers, some of it asked of bash itself with the script that click writes for it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest

from rockhold.cli import cli
from rockhold.cli.complete import BASES, FINDINGS, KEYS, TOOLS
from rockhold.evidence.keys import REVIEWER, make_key
from rockhold.measure.findings import TEXTS
from rockhold.procedure.load import shipped_names
from rockhold.tools.record import ToolRecord
from rockhold.tools.store import add_tool

ASKED = """\
eval "$(_ROCKHOLD_COMPLETE=bash_source rockhold)"
while IFS=$'\\x1f' read -r -a COMP_WORDS; do
  COMPREPLY=(); COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
  _rockhold_completion rockhold
  IFS='|'; echo "${COMPREPLY[*]}"; unset IFS
done
"""


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path / "home"))
    make_key("O. Quist", REVIEWER, "")
    add_tool(ToolRecord("D3", "indicator", step_mm=0.01))


@pytest.mark.skipif(not shutil.which("bash"), reason="there is no bash here")
def test_bash_takes_names_as_they_must_be_typed(tmp_path):
    lines = [
        ("rockhold", "record", "--procedure", "double"),
        ("rockhold", "review", "--reviewer", "O"),
        ("rockhold", "review", "--reviewer", '"O'),
    ]
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    done = subprocess.run(
        [shutil.which("bash"), "-c", ASKED], env=os.environ | {"PATH": path}, text=True,
        input="".join("\x1f".join(line) + "\n" for line in lines), capture_output=True, check=True,
    )  # fmt: skip
    assert done.stdout.splitlines() == [
        "|".join(name for name in shipped_names() if name.startswith("double")),
        r"O.\ Quist",
        "O. Quist",
    ]


def test_names_that_are_here_are_offered():
    context, parameter = click.Context(cli), click.Option(["--x"])

    def offered(complete, begun):
        return [item.value for item in complete(context, parameter, begun)]

    assert offered(TOOLS, "") == ["D3"]
    assert offered(TOOLS, "W") == []
    assert offered(KEYS, "O") == ["O. Quist"]
    assert offered(FINDINGS, "") == sorted(TEXTS)
    assert "hub-cap" in offered(BASES, "")
    assert "end-play" not in offered(BASES, "")  # no guided job

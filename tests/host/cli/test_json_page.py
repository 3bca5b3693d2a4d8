"""host/JSON.md names what the commands really print with `--json`, and its tables nothing else."""

import json
import re
from dataclasses import fields

import click
import pytest

from rockhold.cli import cli
from rockhold.measure.findings import TEXTS
from rockhold.tools.record import ToolRecord
from rockhold.upkeep.check import Finding
from support import ROOT

PAGE = (ROOT / "host" / "JSON.md").read_text("utf-8")
FLEET = ROOT / "demo_captures"
FREE = {"job"}  # its names are what a header names
TRIALS = "person,wheel_end,trial,end_play_mm\n" + "".join(
    f"{person},{end},{trial},{0.05 + 0.01 * end + 0.001 * trial * person}\n"
    for person in (1, 2)
    for end in (1, 2)
    for trial in (1, 2)
)


def part_of(title):
    return next(
        part
        for part in PAGE.split("\n## ")[1:]
        if title in part.split("\n")[0].split(", ") or title == part.split("\n")[0]
    )


def names_in(value):
    """Yield every name of a JSON value, at any depth."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name
            if name not in FREE:
                yield from names_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from names_in(inner)


def with_json(command, path=()):
    """Yield the words of each command that has --json."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            yield from with_json(command.get_command(context, name), (*path, name))
    elif any("--json" in option.opts for option in command.params):
        yield " ".join(path)


@pytest.fixture
def printed(tmp_path, monkeypatch, capsys):
    """Run a command with --json in a home of its own; return its objects."""
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path / "home"))

    def run(*words):
        cli([*map(str, words)], standalone_mode=False)
        text = capsys.readouterr().out
        return [json.loads(line) for line in text.splitlines() if line.startswith("{")]

    return run


def held(title, objects, missing=frozenset()):
    """Compare what was printed with its part of the page.

    `missing` are names that the page has, and that only other circumstances bring.
    """
    assert objects
    seen = set(names_in(objects))
    part = part_of(title)
    assert [name for name in sorted(seen) if f"`{name}`" not in part] == []
    rows = re.findall(r"^\| (`.*?) \|", part, re.MULTILINE)
    named = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    assert named - seen - missing == set()


def test_every_command_with_json_has_a_part():
    for words in with_json(cli):
        assert part_of(words), words


def test_the_page_names_what_is_said_of_captures(printed):
    captures = [FLEET / f"{name}.capture" for name in ("tampered", "countersigned", "whole-job")]
    held("verify", printed("verify", "--json", *captures))
    held("measure", printed("measure", "--json", *captures))
    assert "error" in printed("measure", "--json", ROOT / "README.md")[0]
    assert "`error`" in part_of("measure")


def test_the_page_names_what_is_said_of_the_library(printed, tmp_path):
    index = ("--index", tmp_path / "index.db", "--json")
    captures = [FLEET / f"{name}.capture" for name in ("good", "whole-job", "tampered")]
    held("library add", printed("library", "add", *captures, *index))
    held("library rebuild", printed("library", "rebuild", *index))
    held("library find", printed("library", "find", *index))
    held("library keep", printed("library", "keep", "--all", *index))
    life = printed("library", "trend", "R-112, trailer", "axle 1, left", *index)
    left = [{"left_out": [{"file": "", "because": ""}]}]  # this wheel end has none
    held("library trend", life + left)


def test_the_page_names_what_is_said_of_people_and_things(printed, tmp_path):
    trials = tmp_path / "trials.csv"
    trials.write_text(TRIALS, encoding="utf-8")
    held("study", printed("study", trials, "--json"))
    printed("keys", "make", "O. Quist", "--no-passphrase")
    held("keys list", printed("keys", "list", "--json"))
    printed("tools", "add", "D3", "--kind", "indicator", "--step-in", 0.0005, "--mpe-in", 0.001)
    for title in ("tools list", "tools show"):
        only = ("D3",) if title == "tools show" else ()
        held(title, printed(*title.split(), *only, "--json"))
        held(title, [dict.fromkeys(field.name for field in fields(ToolRecord))])
    held("procedures list", printed("procedures", "list", "--json"))
    held("procedures show", printed("procedures", "show", "hub-cap", "--json"))
    held("board check", [dict.fromkeys(field.name for field in fields(Finding))])
    held("boards", printed("boards", "--port", tmp_path / "no-board", "--json"))


def test_the_page_has_every_finding_with_its_sentence():
    for code, text in TEXTS.items():
        assert f"| `{code}` | {text} |" in PAGE

"""What holds the project together: its targets, its version, its documents."""

import doctest
import importlib
import re
import subprocess
import tomllib

import pytest

from rockboard.recorder import FIRMWARE
from rockhold import __version__
from support import ROOT

MAKEFILE = (ROOT / "Makefile").read_text(encoding="utf-8")
DOCUMENTS = (
    "README.md",
    "DEVELOPERS.md",
    "tests/FIGURES.md",
    "firmware/README.md",
    "hardware/README.md",
)

MADE_UP = {"main.py"}  # which setup puts on a board
FOLDERS = ("protocol", "firmware", "hardware", "host", "tests", "demo_captures")


HOST = ROOT / "host"
# Those with examples to run; api.py's want a folder of their own, see its tests.
SPOKEN = [
    ".".join(path.relative_to(HOST).with_suffix("").parts)
    for path in sorted((HOST / "rockhold").rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8") and path.name != "api.py"
]


def targets():
    """Return the names of all targets that are no files."""
    listed = MAKEFILE.split(".PHONY:")[1].split("\n\n")[0]
    return set(listed.replace("\\", " ").split())


def test_make_alone_lists_every_target_with_a_sentence():
    said = subprocess.run(["make", "-C", ROOT], capture_output=True, text=True, check=True).stdout
    told = dict(re.findall(r"^  ([a-z-]+) +(\S.*)$", said, re.MULTILINE))
    assert set(told) == targets() == set(re.findall(r"^([a-z-]+):", MAKEFILE, re.MULTILINE))
    assert all(sentence.endswith((".", "]", ")", "?")) for sentence in told.values())
    assert max(map(len, said.splitlines())) <= 100


def test_every_target_that_a_document_names_is_there():
    for name in DOCUMENTS:
        text = (ROOT / name).read_text(encoding="utf-8")
        named = set(re.findall(r"`make ([a-z-]+)", text)) | set(
            re.findall(r"^\$? ?make ([a-z-]+)$", text, re.MULTILINE)
        )
        assert named <= targets(), name


def test_every_test_and_module_that_the_recipes_name_is_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    known = [path.as_posix() for top in FOLDERS for path in (ROOT / top).rglob("*.*")]
    known += [path.as_posix() for path in ROOT.glob("*.*")]
    for name in set(re.findall(r"[\w/.]*\w+\.(?:py|toml|md|scad)\b", text)) - MADE_UP:
        assert any(path.endswith(f"/{name.removeprefix('../')}") for path in known), name


def test_every_path_that_a_document_links_to_is_there():
    for name in DOCUMENTS:
        text = (ROOT / name).read_text(encoding="utf-8")
        for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", text):
            assert ((ROOT / name).parent / link).exists(), f"{name}: {link}"


def test_computer_board_and_list_of_changes_name_one_version():
    assert ".".join(map(str, FIRMWARE)) == __version__
    assert f"\n## {__version__}\n" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    about = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert about["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "rockhold.__version__"}


@pytest.mark.parametrize("name", SPOKEN)
def test_the_examples_in_docstrings_hold(name):
    found = doctest.testmod(importlib.import_module(name))
    assert found.attempted
    assert not found.failed

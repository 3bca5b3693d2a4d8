"""What holds for every command."""

import os

import pytest

from rockhold.cli import COMMANDS, exits
from support_board import Rockhold

BAD_FILES = {
    "empty": b"",
    "truncated": b'{"rockhold":"capture","ver',
    "not-utf8": b'{"rockhold":"capture","version":1}\n\xff\xfe\n',
    "newer": b'{"rockhold":"capture","version":99}\n',
}


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_help_has_an_example(rockhold, name):
    done = rockhold(name, "--help")
    assert done.returncode == exits.OK, done.stderr
    assert "Example: rockhold " in done.stdout


@pytest.fixture(scope="module")
def bad_files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bad")
    for name, data in BAD_FILES.items():
        (folder / name).write_bytes(data)
    with (folder / "zeros").open("wb") as file:
        os.truncate(file.fileno(), 1 << 30)
    return folder


@pytest.mark.parametrize("name", [*BAD_FILES, "zeros", "missing"])
@pytest.mark.parametrize("command", ["measure", "verify", "export", "plot"])
def test_a_bad_file_gets_a_sentence_and_a_code(rockhold, bad_files, tmp_path, command, name):
    where = bad_files / name
    options = ["-o", tmp_path / "out.png"] if command in ("export", "plot") else []
    done = rockhold(command, where, *options)
    assert done.returncode in (exits.BAD_FILE, exits.BAD_EVIDENCE, exits.UNSEALED), done.stderr
    assert str(where) in done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert "fault of rockhold itself" not in done.stderr
    assert not (tmp_path / "out.png").exists()


def test_a_slip_of_the_fingers_is_answered_with_the_command_meant(rockhold):
    done = rockhold("recrod")
    assert done.returncode == exits.USAGE
    assert "Did you mean 'record'?" in done.stderr

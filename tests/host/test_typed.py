"""A file's name in a command, given to a shell to read."""

import os
import subprocess

import pytest

from rockhold.typed import typed


@pytest.mark.parametrize(
    "name",
    [
        b"left.capture",
        b"my work/t\xc3\xbcr $HOME.capture",
        b"-a",
        b"two\nlines \xe4'\\1",
        b"",
        b"*",
    ],
)
def test_a_shell_reads_back_the_name(name):
    words = typed(os.fsdecode(name))
    assert words.isprintable()
    read = subprocess.run(["bash", "-c", f"printf %s {words}"], capture_output=True, check=True)
    assert read.stdout == (b"./-a" if name == b"-a" else name)

"""The reference of all commands says what the commands say."""

import subprocess
import sys
from difflib import unified_diff

from host.cli import make_commands


def test_the_reference_is_what_help_says():
    # In a process of its own: a command that another test has called remembers its help option.
    done = subprocess.run(
        [sys.executable, make_commands.__file__, "--print"], capture_output=True, check=True
    )
    kept, now = make_commands.PAGE.read_text("utf-8"), done.stdout.decode("utf-8")
    difference = "\n".join(unified_diff(kept.splitlines(), now.splitlines(), lineterm="", n=0))
    assert not difference, f"run `make commands`\n{difference}"

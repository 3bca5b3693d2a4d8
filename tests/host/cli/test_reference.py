"""The reference of all commands says what the commands say."""

import re
import subprocess
import sys
from difflib import unified_diff

from host.cli import make_commands
from rockhold.cli.exits import MEANINGS
from support import ROOT


def test_the_reference_is_what_help_says():
    # In a process of its own: a command that another test has called remembers its help option.
    done = subprocess.run(
        [sys.executable, make_commands.__file__, "--print"], capture_output=True, check=True
    )
    kept, now = make_commands.PAGE.read_text("utf-8"), done.stdout.decode("utf-8")
    difference = "\n".join(unified_diff(kept.splitlines(), now.splitlines(), lineterm="", n=0))
    assert not difference, f"run `make commands`\n{difference}"


def test_the_readme_has_every_exit_code_in_order():
    text = (ROOT / "README.md").read_text("utf-8").split("Exit codes: ")[1].split("\n\n")[0]
    codes = [int(part.split()[0]) for part in re.sub(r"\s+", " ", text).split("; ")]
    assert codes == sorted(MEANINGS) == list(MEANINGS)

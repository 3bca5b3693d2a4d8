"""The reference of all commands says what the commands say."""

import re
import subprocess
import sys
from difflib import unified_diff

from host.cli import make_commands
from rockhold.cli import exits
from support import ROOT


def test_the_reference_is_what_help_says():
    # In a process of its own: a command that another test has called remembers its help option.
    done = subprocess.run(
        [sys.executable, make_commands.__file__, "--print"], capture_output=True, check=True
    )
    kept, now = make_commands.PAGE.read_text("utf-8"), done.stdout.decode("utf-8")
    difference = "\n".join(unified_diff(kept.splitlines(), now.splitlines(), lineterm="", n=0))
    assert not difference, f"run `make commands`\n{difference}"


def test_the_page_that_the_readme_names_has_every_exit_code_in_order():
    assert "(host/COMMANDS.md#exit-codes)" in (ROOT / "README.md").read_text("utf-8")
    told = re.findall(r"^\| (\d+) \| \w", make_commands.PAGE.read_text("utf-8"), re.MULTILINE)
    codes = {code for name, code in vars(exits).items() if name.isupper() and isinstance(code, int)}
    assert [int(code) for code in told] == sorted(codes)

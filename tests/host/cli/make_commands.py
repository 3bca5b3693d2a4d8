"""Write host/COMMANDS.md, the reference of all commands, from what `--help` says.

.venv/bin/python tests/host/cli/make_commands.py
"""

import sys
from pathlib import Path

import click

from rockhold.cli import cli
from rockhold.cli.exits import MEANINGS

PAGE = Path(__file__).parents[3] / "host" / "COMMANDS.md"
HEAD = """# The commands

What `rockhold COMMAND --help` says, for reading at leisure. Written by `make commands`; a test
keeps it true. `eval "$(_ROCKHOLD_COMPLETE=bash_source rockhold)"` lets the shell complete them
(`zsh_source`, after `compinit`, and `fish_source` for the others).

## Exit codes

| code | meaning |
|---|---|
"""


def commands(command, name, parent=None):
    """Yield (name, help) of a command and of all below it, in the order of the help."""
    settings = {"terminal_width": 100, **command.context_settings}
    context = click.Context(command, info_name=name, parent=parent, **settings)
    yield context.command_path, command.get_help(context)
    if isinstance(command, click.Group):
        for child in command.list_commands(context):
            yield from commands(command.get_command(context, child), child, context)


def page():
    """Return the whole page."""
    codes = "".join(f"| {code} | {meaning} |\n" for code, meaning in MEANINGS.items())
    parts = [f"## {path}\n\n```\n{text}\n```\n" for path, text in commands(cli, "rockhold")]
    return HEAD + codes + "\n" + "\n".join(parts)


if __name__ == "__main__":
    if "--print" in sys.argv:
        sys.stdout.buffer.write(page().encode())
    else:
        PAGE.write_text(page(), encoding="utf-8")
        print(f"{PAGE} written")

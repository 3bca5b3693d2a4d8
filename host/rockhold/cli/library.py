"""`rockhold library`: an index of captures; the files themselves are the truth."""

import click

from rockhold.cli.library_add import add, rebuild
from rockhold.cli.library_find import find
from rockhold.cli.library_keep import keep
from rockhold.cli.library_trend import trend


@click.group()
def command() -> None:
    """Find captures again: an index of folders of captures, made from the files.

    The index lies in ROCKHOLD_HOME, at --index PATH, or on a PostgreSQL server that several shops
    share (--index postgresql://user@host/database, or the same in ROCKHOLD_INDEX). It proves
    nothing: before you rely on a capture, `rockhold verify` the file.

    Example: rockhold library add captures/
    """


for each in (add, find, trend, keep, rebuild):
    command.add_command(each)

"""`rockhold board check`: a self-test that says what to look at."""

import contextlib
from dataclasses import asdict

import click

from rockhold.cli import exits
from rockhold.cli.jsonline import json_line
from rockhold.cli.port import open_board
from rockhold.errors import UsageError
from rockhold.evidence.keyfile import thumbprint_of
from rockhold.evidence.keys import BOARD, stored_keys
from rockhold.record.greeting import greet
from rockhold.upkeep.check import FAULT, OK, UNKNOWN, Finding, check_board
from rockhold.upkeep.upkeep import Upkeep
from rockwire import messages as m

_MARKS = {OK: "ok   ", FAULT: "FAULT", UNKNOWN: "  -  "}


@click.command()
@click.option("--port", help="Serial port of the board; else the only board that answers.")
@click.option(
    "--seconds", type=float, default=3.0, show_default=True, help="How long sources are watched."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per line.")
def check(port: str | None, seconds: float, as_json: bool) -> int:
    """Look a board over: sources, memory, flash, battery, clock, key.

    Let every instrument run meanwhile. Exit code 14 when something is wrong.

    Example: rockhold board check
    """
    if not 0.2 <= seconds <= 600:
        raise UsageError(f"--seconds must be from 0.2 to 600, is {seconds}")
    faults = 0
    with contextlib.closing(open_board(port)) as link:
        who = greet(link)
        board = Upkeep(link)
        for finding in [*_of_board(who), *check_board(board, seconds)]:
            faults += finding.state == FAULT
            click.echo(json_line(asdict(finding)) if as_json else _row(finding))
    if not as_json:
        click.echo("All is well." if not faults else f"{faults} to look at.")
    return exits.BOARD_FAULT if faults else exits.OK


def _of_board(who: m.Ident) -> list[Finding]:
    version = ".".join(str(part) for part in who.firmware)
    state = m.STATES.get(who.state, "unknown")
    found = [
        Finding("board", OK, f'"{who.name}", {who.board_id.hex()}, firmware {version}, {state}')
    ]
    if not any(who.public_key):
        look = "It cannot sign its captures. Set it up: rockhold board setup"
        return [*found, Finding("key", FAULT, "the board has no key", look)]
    pinned = stored_keys().find(thumbprint_of(who.public_key), BOARD)
    if not pinned:
        look = "If you set this board up elsewhere, bring its key over: rockhold keys trust"
        return [*found, Finding("key", FAULT, "nobody here trusts this board's key", look)]
    return [*found, Finding("key", OK, "trusted here")]


def _row(finding: Finding) -> str:
    row = f"{_MARKS[finding.state]}  {finding.what}: {finding.seen}"
    return f"{row}\n       {finding.look}." if finding.look else row

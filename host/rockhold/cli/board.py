"""`rockhold board`: set a board up, check it, read and write its settings, fetch its captures."""

import contextlib
import sys
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.board_check import check
from rockhold.cli.board_setup import json_text, setup
from rockhold.cli.complete import JUDGED_BY, TECHNICIANS
from rockhold.cli.port import open_board
from rockhold.cli.secret import signing_key
from rockhold.errors import UsageError
from rockhold.evidence.finish import finish
from rockhold.evidence.keys import TECHNICIAN
from rockhold.procedure.load import load_procedure
from rockhold.record.greeting import greet
from rockhold.record.header import Job
from rockhold.upkeep.fetch import Stored, fetch, stored_captures
from rockhold.upkeep.upkeep import Upkeep
from rockhold.utc import now_utc
from rockwire import messages as m

PORT = click.option("--port", help="Serial port of the board; else the only board that answers.")


@click.group()
def command() -> None:
    """Set a board up, check it, change its settings, fetch what it recorded alone.

    Example: rockhold board check
    """


command.add_command(check)
command.add_command(setup)


@command.command()
@PORT
@click.argument(
    "file", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path)
)
def settings(port: str | None, file: Path | None) -> int:
    """Print the settings on the board, or store those in FILE (JSON).

    The board checks them and takes none that it cannot use. They count from its next start on.

    Example: rockhold board settings bay3.json
    """
    text = json_text(file) if file else ""
    with contextlib.closing(open_board(port)) as link:
        greet(link)
        board = Upkeep(link)
        if file:
            click.echo(board.write_settings(text))
            return exits.OK
        stored = board.read_settings()
    click.echo(stored or "{}")
    if not stored:
        click.echo("The board has no settings of its own; it runs on its defaults.", err=True)
    return exits.OK


@command.command("fetch")
@PORT
@click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="Where the captures go; the current folder if not given.",
)
@click.option("--all", "everything", is_flag=True, help="Fetch those again that a host has.")
@click.option("--list", "only_list", is_flag=True, help="Only say what is there.")
@click.option(
    "--technician",
    metavar="NAME",
    shell_complete=TECHNICIANS,
    help="Who did the work; measures and seals.",
)
@JUDGED_BY
def fetch_captures(
    port: str | None,
    folder: Path,
    everything: bool,
    only_list: bool,
    technician: str | None,
    procedure: str | None,
) -> int:
    """Fetch captures that the board recorded alone.

    The board keeps each capture until it is whole on this computer's disk. Without --technician
    the files are left for `rockhold seal`.

    Example: rockhold board fetch --technician "A. Miller"
    """
    person = signing_key(technician, TECHNICIAN) if technician and not only_list else None
    asked = load_procedure(procedure or "end-play")
    job = Job(technician or "", asked.name, asked.text)
    with contextlib.closing(open_board(port)) as link:
        who = greet(link)
        board = Upkeep(link)
        there = list(stored_captures(board))
        for stored in there:
            click.echo(_row(stored))
        wanted = [stored for stored in there if everything or not stored.fetched]
        if only_list:
            if not there:
                click.echo("The board keeps no capture.")
            return exits.OK
        if who.state == m.RECORDING:
            raise UsageError("the board is recording. End it with its button, then fetch")
        folder.mkdir(parents=True, exist_ok=True)
        files = [_fetch_one(board, who, stored, folder, job) for stored in wanted]
    for path in files:
        if person is not None:
            finish(path, person, now_utc())
        click.echo(f"Capture: {path}" + ("" if person else " (unsealed)"))
    if not files:
        click.echo("Nothing to fetch.")
    return exits.OK


def _fetch_one(board: Upkeep, who: m.Ident, stored: Stored, folder: Path, job: Job) -> Path:
    with click.progressbar(
        length=stored.next_number,
        label=stored.nonce.hex()[:12],
        file=sys.stderr,
        hidden=not sys.stderr.isatty(),
    ) as bar:
        return fetch(board, who, stored, folder, job, lambda done, _: bar.update(done - bar.pos))


def _row(stored: Stored) -> str:
    state = "sealed" if stored.sealed else "closed" if stored.closed else "cut short"
    have = "a host has it" if stored.fetched else "waiting"
    return f"{stored.nonce.hex()[:12]}  {stored.next_number} records, {state}, {have}"

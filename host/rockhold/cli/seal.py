"""`rockhold seal`: finish a capture that was left unsealed."""

from pathlib import Path

import click

from rockhold.capture.reader import Capture, read_capture
from rockhold.cli import exits
from rockhold.cli.complete import TECHNICIANS
from rockhold.cli.secret import signing_key
from rockhold.errors import UsageError
from rockhold.evidence.finish import finish_later
from rockhold.evidence.keys import TECHNICIAN, stored_keys
from rockhold.report.words import result_lines


@click.command()
@click.argument("file", type=click.Path(readable=False, path_type=Path))
@click.option(
    "--technician",
    metavar="NAME",
    shell_complete=TECHNICIANS,
    help="Who signs; else the one in the capture.",
)
def command(file: Path, technician: str | None) -> int:
    """Finish a capture FILE that was cut short or left unsealed: result and seal are added.

    Nothing that stands in the file is changed. A last line that was cut is kept in a note, and the
    record says that it was recovered.

    Example: rockhold seal left-front.capture
    """
    name = technician or _technician_of(read_capture(file))
    if not name:
        raise UsageError(f"{file} does not say who recorded it; say who signs with --technician")
    if technician is None and not any(s.own for s in stored_keys().find(name, TECHNICIAN)):
        raise UsageError(
            f'{file} was recorded by "{name}", who has no key here. If that is you, make one with '
            f'`rockhold keys make "{name}"`; else say who you are with --technician'
        )
    done = finish_later(file, signing_key(name, TECHNICIAN))
    if done.recovered:
        kept = f", {done.torn_bytes} bytes of a cut line kept in a note" if done.torn_bytes else ""
        click.echo(f"Recovered: the recording had not been finished{kept}.")
    if done.result is not None:
        for line in result_lines(done.result.to_json()):
            click.echo(line)
    if not done.board_signed:
        click.echo(
            "The board did not sign these readings: it was cut off before, or it has no key. "
            f"{name} alone answers for them, and `rockhold verify` says so."
        )
    click.echo(f'Sealed by "{name}": {file}')
    return exits.OK


def _technician_of(capture: Capture) -> str:
    people = capture.header.get("people")
    for person in people if isinstance(people, list) else []:
        if isinstance(person, dict) and person.get("role") == TECHNICIAN:
            return str(person.get("name", ""))
    return ""

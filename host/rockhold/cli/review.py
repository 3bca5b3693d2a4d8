"""`rockhold review`: a reviewer's verdict on a capture, signed."""

from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.secret import signing_key
from rockhold.errors import UsageError
from rockhold.evidence.countersign import countersign
from rockhold.evidence.keys import REVIEWER, stored_keys
from rockhold.evidence.reviews import ACCEPT, REJECT
from rockhold.evidence.trust import trust_of
from rockhold.evidence.words import in_full


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--accept", is_flag=True, help="You would have decided the same.")
@click.option("--reject", is_flag=True, help="You would not.")
@click.option("--because", required=True, metavar="TEXT", help="Your reason; it stays in the file.")
@click.option("--reviewer", metavar="NAME", help="Who you are; else the one reviewer's key here.")
def command(file: Path, accept: bool, reject: bool, because: str, reviewer: str | None) -> int:
    """Add your verdict on a capture FILE below everything in it, and seal it.

    Nothing that stands in the file is changed. A damaged or unsealed file is not reviewed.

    Example: rockhold review left-front.capture --accept --because "three clean cycles"
    """
    if accept == reject:
        raise UsageError("say --accept or --reject, one of them")
    verdict = ACCEPT if accept else REJECT
    if not because.strip():
        raise UsageError("--because needs your reason in words")
    name = reviewer or _only_reviewer()
    found = countersign(
        file, signing_key(name, REVIEWER), verdict, because, trust_of(stored_keys())
    )
    if found.problems:
        click.echo("Your review stands in view of this:", err=True)
    click.echo(in_full(found), err=True)
    deed = "Accepted" if verdict == ACCEPT else "Rejected"
    click.echo(f'{deed} and sealed by "{name}": {file}')
    return exits.OK


def _only_reviewer() -> str:
    keys = stored_keys().keys
    names = {s.record.name for s in keys if s.own and s.record.role == REVIEWER}
    if len(names) != 1:
        raise UsageError(
            "say who you are with --reviewer"
            + ("" if names else '; a key is made with `rockhold keys make "NAME" --role reviewer`')
        )
    return names.pop()

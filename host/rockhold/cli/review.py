"""`rockhold review`: a reviewer's questions answered, and the reviewer's verdict, signed."""

from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.complete import REVIEWERS
from rockhold.cli.reviewer import DEEDS, mind_of, only_reviewer
from rockhold.cli.secret import signing_key
from rockhold.errors import UsageError
from rockhold.evidence.countersign import countersign
from rockhold.evidence.keys import REVIEWER, stored_keys
from rockhold.evidence.reviews import ACCEPT, ASK, REJECT
from rockhold.evidence.trust import trust_of
from rockhold.evidence.words import in_full


@click.command()
@click.argument("file", required=False, type=click.Path(readable=False, path_type=Path))
@click.option(
    "--queue",
    metavar="FOLDER",
    type=click.Path(exists=True, path_type=Path),
    help="Walk through the captures of a folder that wait for a review.",
)
@click.option("--accept", is_flag=True, help="The job may stand as it is recorded.")
@click.option("--reject", is_flag=True, help="It may not: do it, or record it, again.")
@click.option("--ask", is_flag=True, help="No verdict yet: a question to the technician.")
@click.option("--because", metavar="TEXT", help="Your reason or question; it stays in the file.")
@click.option(
    "--reviewer",
    metavar="NAME",
    shell_complete=REVIEWERS,
    help="Who you are; else the one reviewer's key here.",
)
@click.option("--metric", is_flag=True, help="Show millimetres; else thousandths of an inch.")
def command(
    file: Path | None,
    queue: Path | None,
    accept: bool,
    reject: bool,
    ask: bool,
    because: str | None,
    reviewer: str | None,
    metric: bool,
) -> int:
    """Show what a careful reviewer asks of a capture FILE, and add your verdict, sealed.

    Without a verdict on the command line the answers are shown on one screen, you may open the
    report, and then accept, reject or ask. Nothing that stands in the file is changed: your verdict
    comes below it. A damaged or unsealed file is not reviewed. A verdict is on the job, not on the
    file, and permits nobody to drive.

    Exit code: 0 signed; 9 not sealed to its end, 11 damaged, 12 cannot be accepted because the
    readings give another result, 13 not readable.

    Example: rockhold review left-front.capture --accept --because "three clean cycles"
    """
    if (file is None) == (queue is None):
        raise UsageError("name a capture, or --queue FOLDER, one of them")
    said = [v for v, given in ((ACCEPT, accept), (REJECT, reject), (ASK, ask)) if given]
    if not said and because is None:
        from rockhold.cli.review_dialog import Dialog

        dialog = Dialog(reviewer, metric)
        return dialog.walk(queue) if queue is not None else dialog.single(file or Path())
    if file is None:
        raise UsageError("a verdict is for one capture; --queue asks for each")
    if len(said) != 1:
        raise UsageError("say --accept, --reject or --ask, one of them")
    if not (because or "").strip():
        raise UsageError("--because needs your reason in words")
    return _decide(file, said[0], because or "", reviewer or only_reviewer())


def _decide(file: Path, verdict: str, because: str, name: str) -> int:
    key = signing_key(name, REVIEWER)
    found = countersign(file, key, verdict, because, trust_of(stored_keys()))
    if found.problems:
        click.echo("Your review stands in view of this:", err=True)
    click.echo(in_full(found), err=True)
    mind = mind_of(found, verdict)
    if mind:
        click.echo(mind, err=True)
    click.echo(f'{DEEDS[verdict]} and sealed by "{name}": {file}')
    return exits.OK

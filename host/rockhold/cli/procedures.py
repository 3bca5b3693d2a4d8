"""`rockhold procedures`: the ordered steps that a guided job follows, as files."""

import shutil
import textwrap
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.complete import BASES, PROCEDURES
from rockhold.cli.jsonline import json_line
from rockhold.errors import ProcedureError, UsageError
from rockhold.measure.torque.patterns import crosswise, is_crosswise
from rockhold.procedure.load import find_text, is_guided, load_procedure, shipped_names
from rockhold.procedure.model import Procedure
from rockhold.procedure.words import limits_words, sheet
from rockhold.typed import typed

_START = """\
# A fleet's own procedure. It changes what is written here and takes all else from the one below.
# The maker's instructions for the wheel end at hand, the fleet's rules and the law come first.
# Try it: rockhold procedures check THIS-FILE, then rockhold procedures show THIS-FILE
format = 2
name = "{name}"
title = "{title}, as our fleet does it"
based_on = "{base}"

# A step that is there: only the keys given here change. Remove the # and write your own numbers.
# [[step]]
# id = "{step}"
# text = "What to do, in your words."
# source = "fleet rule: which one"

# A step that you do not do:
# [[step]]
# id = "{step}"
# omit = true
# because = "why"

# A step of your own:
# [[step]]
# id = "our-check"
# after = "{step}"
# kind = "check"
# title = "What it is called"
# text = "What to look for, as a question that yes answers well?"
# on_fail = "What to do when it is not so."
# source = "fleet rule: which one"
"""


@click.group()
def command() -> None:
    """List, show, check and begin procedures: the ordered steps of a guided job.

    Example: rockhold procedures show double-nut-drive
    """


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per procedure.")
def list_all(as_json: bool) -> int:
    """List the procedures that come with rockhold.

    Example: rockhold procedures list
    """
    for name in shipped_names():
        one = load_procedure(name)
        row = {"name": name, "title": one.title, "axle": one.axle, "steps": len(one.steps)}
        click.echo(
            json_line(row) if as_json else f"{name:<20} {len(one.steps):>2} steps  {one.title}"
        )
    return exits.OK


@command.command()
@click.argument("name", shell_complete=PROCEDURES)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--toml", "as_toml", is_flag=True, help="Print the whole file in force.")
def show(name: str, as_json: bool, as_toml: bool) -> int:
    """Show every step of a procedure NAME (a shipped one, or a file).

    Example: rockhold procedures show hub-cap
    """
    one = load_procedure(name)
    if as_toml:
        click.echo(one.text, nl=False)
    elif as_json:
        click.echo(json_line(_to_json(one)))
    else:
        width = min(shutil.get_terminal_size().columns, 100)
        for line in sheet(one):
            click.echo(textwrap.fill(line, width, subsequent_indent="     ") if line else "")
    return exits.OK


def _to_json(one: Procedure) -> dict[str, object]:
    steps = [
        {
            "id": step.id,
            "kind": step.kind,
            "title": step.title,
            "text": step.text,
            "limits": limits_words(step),
            "caution": step.caution,
            "on_fail": step.on_fail,
            "source": step.source,
        }
        for step in one.steps
    ]
    return {"name": one.name, "title": one.title, "axle": one.axle, "steps": steps}


@command.command()
@click.argument("files", nargs=-1, required=True)
def check(files: tuple[str, ...]) -> int:
    """Check procedure FILES; of a fault it says file, line, key and what to do.

    Example: rockhold procedures check our-trailers.toml
    """
    code = exits.OK
    for name in files:
        try:
            one = load_procedure(name)
        except ProcedureError as error:
            click.echo(str(error))
            code = exits.USAGE
        else:
            click.echo(f"{name}: in order, {len(one.steps)} steps")
            for step in one.steps:
                if step.torque is not None and not is_crosswise(step.torque.order):
                    usual = ", ".join(map(str, crosswise(len(step.torque.order))))
                    click.echo(
                        f"  step {step.id}: this order goes around the circle and pinches the "
                        f"gasket; crosswise is {usual}"
                    )
    return code


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--based-on",
    "base",
    required=True,
    metavar="NAME",
    shell_complete=BASES,
    help="A shipped procedure.",
)
def new(file: Path, base: str) -> int:
    """Write a FILE for a fleet's own procedure, to change as it needs; nothing is overwritten.

    Example: rockhold procedures new our-trailers.toml --based-on double-nut-trailer
    """
    if base not in shipped_names() or not is_guided(*find_text(base)):
        named = ", ".join(n for n in shipped_names() if is_guided(*find_text(n)))
        raise UsageError(f"--based-on {base}: write one of {named}")
    if file.suffix != ".toml":
        raise UsageError(f"{file}: the name must end in .toml")
    one = load_procedure(base)
    step = next((step.id for step in one.steps if step.turn or step.torque), one.steps[0].id)
    name = file.stem.replace('"', "").replace("\\", "")[:60] or "ours"
    text = _START.format(name=name, title=one.title.replace('"', ""), base=base, step=step)
    try:
        with file.open("x", encoding="utf-8") as target:
            target.write(text)
    except FileExistsError as error:
        raise UsageError(f"{file} exists already. Choose another name") from error
    except OSError as error:
        raise UsageError(f"cannot write {file}: {error.strerror}") from error
    click.echo(f"Procedure: {file}. Change it, then: rockhold procedures check {typed(file)}")
    return exits.OK

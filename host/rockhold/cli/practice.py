"""`rockhold practice`: a simulated board for somebody who wants to try the work first."""

import signal
import sys
import textwrap
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.enter import ending_like_ctrl_c
from rockhold.cli.widths import paragraph_columns
from rockhold.demo.practice import WORDS, Practice, practising
from rockhold.errors import UsageError
from rockhold.typed import typed

_SEED = 20
# A window that is closed takes the board with it, and nothing stays behind.
_ENDING = (signal.SIGTERM, signal.SIGHUP)


@click.command()
@click.option(
    "--port",
    type=click.Path(path_type=Path),
    default=Path("practice-board"),
    show_default=True,
    help="Where the board is to be found.",
)
@click.option("--seed", type=int, default=_SEED, show_default=True, help="Other hands.")
def command(port: Path, seed: int) -> int:
    """Keep a simulated board here, to practise at from another terminal.

    The board's own program runs in MicroPython; this terminal is the hands. `rockhold record --port
    practice-board` there works as with a real board. The board's key is made anew each time, and
    nobody trusts it: what you practise never passes as work.

    Example: rockhold practice
    """
    if seed < 0:
        raise UsageError(f"--seed must be zero or more, is {seed}")
    code = exits.OK
    try:
        with ending_like_ctrl_c(*_ENDING), practising(port, seed) as practice:
            _greet(port)
            _obey(practice)
    except KeyboardInterrupt:
        click.echo()
        code = exits.INTERRUPTED
    click.echo("The practice is over; its board is gone.")
    return code


def _obey(practice: Practice) -> None:
    """Let the hands do one line after the other."""
    for line in iter(_ask, ""):
        if line.split() in (["end"], ["quit"], ["exit"]):
            break
        try:
            click.echo(practice.do(line) if line.split() else _words())
        except UsageError as error:
            click.echo(f"Not done: {error}. Enter alone lists what the hands can do.")


def _greet(port: Path) -> None:
    click.echo(f"A simulated board is at {port}. In another terminal, in this folder:\n")
    click.echo(f"  rockhold boards --port {typed(port)}")
    click.echo(
        f'  rockhold record try.capture --port {typed(port)} --technician "YOUR NAME" \\\n'
        "    --procedure single-nut-trailer\n"
    )
    click.echo(f"The hands are here. Write what they shall do, then Enter:\n\n{_words()}\n")


def _words() -> str:
    return "\n".join(
        textwrap.fill(
            what, paragraph_columns(), initial_indent=f"  {word:12} ", subsequent_indent=" " * 15
        )
        for word, what in WORDS
    )


def _ask() -> str:
    """Return the next line with its end, "" when there is none any more."""
    if sys.stdin is None:
        return ""
    if sys.stdin.isatty():
        click.echo("hands> ", nl=False)
    return sys.stdin.readline()

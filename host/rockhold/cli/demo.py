"""`rockhold demo`: the whole job with no hardware."""

import sys
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.demo.run import SEED, SPEED, play
from rockhold.errors import UsageError
from rockhold.measure.trace import MM_PER_INCH
from rockhold.report.words import CAUTIONS, result_lines


@click.command()
@click.option(
    "--out",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("rockhold-demo"),
    show_default=True,
    help="Folder for the capture and its picture.",
)
@click.option("--seed", type=int, default=SEED, show_default=True, help="Another wheel end.")
@click.option("--speed", type=float, default=SPEED, show_default=True, help="1 is real time.")
def command(folder: Path, seed: int, speed: float) -> int:
    """Play the whole job: the board's code in MicroPython, a simulated wheel end, the real host.

    Looking the wheel end over, torque, a first end play that is too large, the turn of the nut, a
    good one, spin, hub cap and oil.

    Example: rockhold demo --out my-demo
    """
    if not 0.1 <= speed <= 60:
        raise UsageError(f"--speed must be from 0.1 to 60, is {speed}")
    if seed < 0:
        raise UsageError(f"--seed must be zero or more, is {seed}")
    for caution in CAUTIONS:
        click.echo(caution)
    click.echo()
    played = play(folder, sys.stdout, speed, seed)
    click.echo()
    for line in (*result_lines(played.result.to_json()), *played.steps):
        click.echo(line)
    click.echo(f"(The simulated wheel end has {played.true_mm / MM_PER_INCH:.5f} in.)")
    click.echo(f"Capture: {played.capture}")
    click.echo(f"Picture: {played.picture}")
    # As it was called: after `make demo` the command is not on the path yet.
    click.echo(f"Check it: {sys.argv[0]} verify {played.capture}")
    return exits.OK

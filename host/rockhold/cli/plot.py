"""`rockhold plot`: a picture of one trace with its holds, levels and findings."""

from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.traces import read_trace
from rockhold.errors import UsageError
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.procedure.endplay import load_limits, shipped_limits


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Picture to write, .png or .svg; by default beside FILE, as .png.",
)
@click.option("--step-mm", type=float, help="The gauge's count in mm, for CSV files.")
@click.option(
    "--procedure",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A procedure file with an [end_play] table; without it, the shipped one.",
)
@click.option("--force", is_flag=True, help="Overwrite the picture if it is there.")
def command(
    file: Path, out: Path | None, step_mm: float | None, procedure: Path | None, force: bool
) -> int:
    """Draw FILE (a capture or a CSV trace) with its holds, levels, band and findings.

    Example: rockhold plot left-front.csv --out left-front.svg
    """
    picture = file.with_suffix(".png") if out is None else out
    if picture.suffix.lower() not in (".png", ".svg"):
        raise UsageError(f"--out {picture}: the name must end in .png or .svg")
    if picture.exists() and not force:
        raise UsageError(f"{picture} is already there; choose another name or add --force")
    trace = read_trace(file, step_mm)
    limits = shipped_limits() if procedure is None else load_limits(procedure)
    result = measure_trace(trace, limits, GaugeFacts())
    from rockhold.report.plot import draw, save

    try:
        save(draw(trace, result, limits, file.name), picture)
    except OSError as error:
        raise UsageError(f"{picture}: cannot write: {error.strerror}") from error
    click.echo(f"Wrote {picture}")
    return exits.OK

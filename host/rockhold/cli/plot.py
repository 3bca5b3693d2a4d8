"""`rockhold plot`: the picture of a trace."""

from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.complete import JUDGED_BY
from rockhold.cli.targets import FORCE, must_take_picture
from rockhold.cli.traces import Given, measure_path


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, readable=False, path_type=Path))
@click.option(
    "-o",
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Picture to write, .png or .svg; by default beside FILE, as .png.",
)
@click.option("--step-mm", type=float, help="The gauge's count in mm, for CSV files.")
@JUDGED_BY
@click.option("--mpe-mm", type=float, help="Limit of error from the gauge's certificate, in mm.")
@click.option("--metric", is_flag=True, help="Millimetres; else thousandths of an inch.")
@FORCE
def command(
    file: Path,
    out: Path | None,
    step_mm: float | None,
    procedure: str | None,
    mpe_mm: float | None,
    metric: bool,
    force: bool,
) -> int:
    """Draw FILE (a capture or a CSV trace) with its holds, levels, band and findings.

    Example: rockhold plot left-front.csv --out left-front.svg
    """
    picture = file.with_suffix(".png") if out is None else out
    must_take_picture(picture, force)
    done = measure_path(file, Given.of(procedure, mpe_mm, step_mm))
    from rockhold.report.plot import draw, save
    from rockhold.report.units import METRIC, US

    units = METRIC if metric else US
    save(draw(done.trace, done.result, done.limits, file.name, units, done.torque), picture)
    click.echo(f"Picture: {picture}")
    return exits.OK

"""`rockhold plot`: the picture of a trace."""

from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.cli.traces import Given, measure_path
from rockhold.errors import UsageError
from rockhold.report.plot import save_plot


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("-o", "--out", type=click.Path(path_type=Path), help="PNG or SVG; else FILE.png.")
@click.option("--step-mm", type=float, help="The gauge's count in mm, for a CSV file.")
@click.option("--mpe-mm", type=float, help="Limit of error from the gauge's certificate, in mm.")
@click.option(
    "--procedure",
    type=click.Path(dir_okay=False, path_type=Path),
    help="A procedure file; without it the capture's own, or the shipped one.",
)
def command(
    file: Path,
    out: Path | None,
    step_mm: float | None,
    mpe_mm: float | None,
    procedure: Path | None,
) -> int:
    """Draw a capture or CSV trace FILE with its holds, levels, band and findings.

    Example: rockhold plot left.capture -o left.png
    """
    path = out or file.with_suffix(".png")
    if path.exists():
        raise UsageError(f"{path} exists already; name another with --out")
    done = measure_path(file, Given.of(procedure, mpe_mm, step_mm))
    save_plot(path, done.trace, done.result, done.limits, title=file.name)
    click.echo(f"Picture: {path}")
    return exits.OK

"""`rockhold export`: the readings of a capture as CSV."""

from pathlib import Path

import click

from rockhold.capture.readings_csv import csv_of
from rockhold.capture.trace import load_trace
from rockhold.cli import exits
from rockhold.errors import CaptureWriteError


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Where to; else to the screen.")
def command(file: Path, out: Path | None) -> int:
    """Write the indicator's readings of a capture FILE as CSV.

    The columns are t_s (seconds of the board's clock) and travel_mm or travel_in, in the unit
    that the gauge showed.

    Example: rockhold export job.capture -o job.csv
    """
    text = csv_of(load_trace(file))
    if out is None:
        click.echo(text, nl=False)
        return exits.OK
    try:
        with out.open("x", encoding="utf-8") as target:
            target.write(text)
    except FileExistsError as error:
        raise CaptureWriteError(f"{out} exists already. Choose another name") from error
    except OSError as error:
        raise CaptureWriteError(f"cannot write {out}: {error.strerror}") from error
    click.echo(f"Readings: {out}")
    return exits.OK

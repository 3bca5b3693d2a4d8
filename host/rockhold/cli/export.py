"""`rockhold export`: the readings of a capture as CSV."""

from pathlib import Path

import click

from rockhold.capture.channels import KNOCK, TORQUE, TURNING, channel_of
from rockhold.capture.reader import read_capture
from rockhold.capture.readings_csv import channel_csv, csv_of
from rockhold.capture.trace import trace_of
from rockhold.cli import exits
from rockhold.errors import CaptureWriteError, TooFewSamplesError

_TRAVEL = "travel"
_CHANNELS = {"torque": TORQUE, "turning": TURNING, "knock": KNOCK}


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Where to; else to the screen.")
@click.option(
    "--what",
    type=click.Choice([_TRAVEL, *_CHANNELS]),
    default=_TRAVEL,
    show_default=True,
    help="Of the indicator, the torque adapter, or the motion sensor on the hub.",
)
def command(file: Path, out: Path | None, what: str) -> int:
    """Write the readings of a capture FILE as CSV.

    The columns are t_s (seconds of the board's clock) and travel_mm or travel_in, in the unit
    that the gauge showed; or torque_nm, turning_deg_s or knock_mg.

    Example: rockhold export job.capture -o job.csv
    """
    text = _csv(file, what)
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


def _csv(file: Path, what: str) -> str:
    capture = read_capture(file)
    if what == _TRAVEL:
        return csv_of(trace_of(capture))
    channel = channel_of(capture, _CHANNELS[what])
    if channel is None:
        raise TooFewSamplesError(f"{file} holds no readings of {what}")
    return channel_csv(channel)

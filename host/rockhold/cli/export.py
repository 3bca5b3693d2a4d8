"""`rockhold export`: readings or results as CSV or Parquet, for other programs."""

from collections.abc import Sequence
from pathlib import Path

import click

from rockhold.capture.channels import KNOCK, TORQUE, TURNING, channel_of
from rockhold.capture.folders import is_folder
from rockhold.cli import exits
from rockhold.errors import TooFewSamplesError, UsageError
from rockhold.export.columns import CHANNEL, READINGS, RESULTS, Column

_TRAVEL, _WHOLE, _STEPS = "travel", "whole", "steps"
_CHANNELS = {"torque": TORQUE, "turning": TURNING, "knock": KNOCK}


def _say_columns(context: click.Context, _: click.Parameter, asked: bool) -> None:
    if not asked:
        return
    for title, columns in (("Readings", READINGS), ("With --what", CHANNEL), ("Results", RESULTS)):
        click.echo(f"{title}:")
        for column in columns:
            click.echo(f"  {column.name:<23} {column.kind:<7} {column.meaning}")
    context.exit()


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    help="Where to: Parquet for a name that ends so, else CSV; without it to the screen.",
)
@click.option(
    "--what",
    type=click.Choice([_TRAVEL, _WHOLE, *_CHANNELS, _STEPS]),
    default=_TRAVEL,
    show_default=True,
    help="Readings of the indicator that the result comes from, or all of them (whole); of the "
    "torque adapter; of the motion sensor on the hub; or the steps of a guided job, as JSON.",
)
@click.option("--results", is_flag=True, help="One row of results for each capture.")
@click.option(
    "--columns",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_say_columns,
    help="Say what each column holds, and stop.",
)
def command(files: tuple[Path, ...], out: Path | None, what: str, results: bool) -> int:
    """Write the readings of a capture, or with --results the results of many.

    FILES is one capture; with --results any number of captures and folders of them.

    Readings as CSV have the columns t_s (seconds of the board's clock) and travel_mm or travel_in,
    in the unit that the gauge showed; rockhold measures such a file again. With --what they have
    torque_nm, turning_deg_s or knock_mg. --columns lists those of Parquet and of results. The unit
    is the last word of a column's name.

    Example: rockhold export --results captures/ -o results.parquet
    """
    parquet = out is not None and out.suffix.lower() == ".parquet"
    if not results and len(files) > 1:
        raise UsageError("readings are of one capture; add --results for a table of many")
    data = _results(files, parquet) if results else _readings(files[0], what, parquet)
    if not results:
        click.echo("Whether the file is untouched says `rockhold verify`.", err=True)
    if out is None:
        click.echo(data.decode(), nl=False)
        return exits.OK
    from rockhold.export.tables import write_new

    write_new(out, data)
    click.echo(f"{'Results' if results else 'Readings'}: {out}")
    return exits.OK


def _readings(file: Path, what: str, parquet: bool) -> bytes:
    from rockhold.capture.reader import read_capture
    from rockhold.capture.readings_csv import channel_csv, csv_of
    from rockhold.capture.steps import steps_json
    from rockhold.capture.trace import measured_trace, trace_of
    from rockhold.evidence.result import limits_of
    from rockhold.export.tables import parquet_of_channel, parquet_of_readings
    from rockhold.measure.work_end import without_wait

    if is_folder(file):
        raise UsageError(f"{file} is a folder; readings are of one capture, --results of many")
    capture = read_capture(file)
    if what == _STEPS:
        if parquet:
            raise UsageError("steps are written as JSON; choose a name that ends in .json")
        return steps_json(capture).encode()
    if what in (_TRAVEL, _WHOLE):
        trace = trace_of(capture)
        if what == _TRAVEL:
            trace = without_wait(measured_trace(capture), limits_of(capture))
        return parquet_of_readings(trace) if parquet else csv_of(trace).encode()
    channel = channel_of(capture, _CHANNELS[what])
    if channel is None:
        raise TooFewSamplesError(f"{file} holds no readings of {what}")
    return parquet_of_channel(channel) if parquet else channel_csv(channel).encode()


def _results(files: Sequence[Path], parquet: bool) -> bytes:
    from rockhold.capture.folders import captures_in
    from rockhold.evidence.keys import stored_keys
    from rockhold.evidence.trust import trust_of
    from rockhold.export.rows import result_rows
    from rockhold.export.tables import csv_of_rows, parquet_of_rows

    paths = captures_in(files)
    rows = list(result_rows(paths, trust_of(stored_keys())))
    without = sum(row.get("end_play_mm") is None for row in rows)
    if without:
        click.echo(f"{without} of {len(rows)} captures give no end play.", err=True)
    columns: tuple[Column, ...] = RESULTS
    return parquet_of_rows(rows, columns) if parquet else csv_of_rows(rows, columns).encode()

"""`rockhold measure`: end play of captures and CSV traces, one result per file."""

import json
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import click

from rockhold.capture.lines import SUFFIX
from rockhold.cli import exits
from rockhold.cli.traces import Given, measure_path
from rockhold.errors import RockholdError
from rockhold.measure.decision import ACCEPT, REJECT, UNDECIDED
from rockhold.report.words import result_lines

PARALLEL_FROM = 40  # fewer files are done before other processes have started
CHUNK = 16

_EXIT = {ACCEPT: exits.OK, REJECT: exits.REJECTED, UNDECIDED: exits.UNDECIDED}
# Of several files the first of these that occurs gives the exit code.
_WORST_FIRST = (exits.BAD_FILE, exits.NOT_MEASURABLE, exits.REJECTED, exits.UNDECIDED)


def measure_file(name: str, given: Given) -> tuple[dict[str, Any], int]:
    """Return the object to print for one file, and its exit code; never raises for a bad file."""
    try:
        result = measure_path(Path(name), given).result
    except RockholdError as error:
        return _unreadable(name, str(error)), exits.BAD_FILE
    except (MemoryError, RecursionError, OverflowError) as error:
        return _unreadable(name, f"{name}: too large to read: {error}"), exits.BAD_FILE
    code = exits.NOT_MEASURABLE if result.verdict is None else _EXIT[result.verdict]
    return {"file": name} | result.to_json(), code


def _unreadable(name: str, why: str) -> dict[str, Any]:
    from rockhold.measure.result import EndPlayResult, Finding

    # Nothing in the file can be a hold: whoever reads only the findings learns why.
    result = EndPlayResult(findings=(Finding("no_hold", 0.0, why),), sentence="Not measured.")
    return {"file": name} | result.to_json() | {"error": why}


def _measure_all(files: tuple[str, ...], given: Given) -> Iterator[tuple[dict[str, Any], int]]:
    """Yield the results in the order of the files, on all processors if there are many files."""
    workers = min(os.cpu_count() or 1, 8)
    if len(files) < PARALLEL_FROM or workers < 2:
        for name in files:
            yield measure_file(name, given)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(partial(measure_file, given=given), files, chunksize=CHUNK)


def _in_words(row: dict[str, Any]) -> str:
    """Return one result for a person."""
    if "error" in row:
        return "\n  ".join([row["file"], row["error"], row["sentence"]])
    lines = [row["file"], *result_lines(row)]
    if Path(row["file"]).suffix == SUFFIX:
        lines.append("Whether the file is untouched says `rockhold verify`.")
    return "\n  ".join(lines)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per file and line.")
@click.option("--step-mm", type=float, help="The gauge's count in mm, for CSV files.")
@click.option("--mpe-mm", type=float, help="Limit of error from the gauge's certificate, in mm.")
@click.option(
    "--procedure",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A procedure file with an [end_play] table; else a capture's own, or the shipped one.",
)
def command(
    files: tuple[str, ...],
    as_json: bool,
    step_mm: float | None,
    mpe_mm: float | None,
    procedure: Path | None,
) -> int:
    """Compute the end play of each of FILES (captures, or CSV with t_s,travel_mm or t_s,travel_in).

    Exit code: 0 accept, 3 rejected, 4 undecided, 5 not measurable, 13 not readable. Of several
    files an unreadable one counts first, then one that cannot be measured, rejected, undecided.

    Example: rockhold measure left-front.csv --json
    """
    for option, value in (("--step-mm", step_mm), ("--mpe-mm", mpe_mm)):
        if value is not None and not 0 < value < 1000:
            raise click.UsageError(f"{option} must be above 0 and below 1000 mm, is {value}")
    given = Given.of(procedure, mpe_mm, step_mm)
    codes: set[int] = set()
    shown = sys.stderr.isatty() and len(files) > 1
    with click.progressbar(
        length=len(files), label="Measuring", file=sys.stderr, hidden=not shown
    ) as bar:
        for row, code in _measure_all(files, given):
            codes.add(code)
            click.echo(json.dumps(row, allow_nan=False) if as_json else _in_words(row))
            bar.update(1)
    return next((code for code in _WORST_FIRST if code in codes), exits.OK)

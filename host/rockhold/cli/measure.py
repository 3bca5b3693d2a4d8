"""`rockhold measure`: end play of captures and CSV traces, one result per file."""

from contextlib import nullcontext
from functools import partial
from pathlib import Path
from typing import Any

import click

from rockhold.bulk.donelist import DoneList
from rockhold.capture.folders import captures_in
from rockhold.capture.lines import SUFFIX
from rockhold.cli import exits
from rockhold.cli.bulk import DONE_LIST, BulkRun
from rockhold.cli.complete import JUDGED_BY
from rockhold.cli.jsonline import json_line
from rockhold.cli.traces import Given, measure_path
from rockhold.errors import RockholdError
from rockhold.measure.decision import ACCEPT, REJECT, UNDECIDED
from rockhold.measure.torque.units import LBF_FT, NM, from_nm
from rockhold.plain import plain
from rockhold.report.words import result_lines

_EXIT = {ACCEPT: exits.OK, REJECT: exits.REJECTED, UNDECIDED: exits.UNDECIDED}
# Of several files the first of these that occurs gives the exit code.
_WORST_FIRST = (exits.BAD_FILE, exits.NOT_MEASURABLE, exits.REJECTED, exits.UNDECIDED)


def measure_file(path: Path, given: Given) -> tuple[Path, dict[str, Any], int]:
    """Return a file, the object to print for it and its exit code; never raises for a bad file."""
    name = str(path)
    try:
        done = measure_path(path, given)
    except RockholdError as error:
        return path, _unreadable(name, str(error)), exits.BAD_FILE
    except (MemoryError, RecursionError, OverflowError) as error:
        return lost_file(path, f"too large to read: {error}")
    result, torque = done.result, done.torque
    code = exits.NOT_MEASURABLE if result.verdict is None else _EXIT[result.verdict]
    pulls = {} if torque is None else {"pulls": torque.rows()}
    return path, {"file": name} | result.to_json() | pulls, code


def lost_file(path: Path, why: str) -> tuple[Path, dict[str, Any], int]:
    """Return the same for a file that could not be measured at all."""
    return path, _unreadable(str(path), f"{path}: {why}"), exits.BAD_FILE


def _unreadable(name: str, why: str) -> dict[str, Any]:
    from rockhold.measure.result import not_held

    return {"file": name} | not_held(why).to_json() | {"error": why}


def _in_words(row: dict[str, Any]) -> str:
    """Return one result for a person."""
    if "error" in row:
        return "\n  ".join(map(plain, (row["file"], row["error"], row["sentence"])))
    lines = [plain(row["file"]), *result_lines(row)]
    if row.get("pulls"):
        for unit in (LBF_FT, NM):
            peaks = ", ".join(f"{from_nm(pull['peak_nm'], unit):.1f}" for pull in row["pulls"])
            lines.append(f"Torque pulls, peaks in {unit}: {peaks}")
    if Path(row["file"]).suffix == SUFFIX:
        lines.append("`rockhold verify` says whether the file is untouched.")
    return "\n  ".join(lines)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per file and line.")
@click.option("--step-mm", type=float, help="The gauge's count in mm, for CSV files.")
@click.option("--mpe-mm", type=float, help="Limit of error from the gauge's certificate, in mm.")
@JUDGED_BY
@DONE_LIST
def command(
    files: tuple[str, ...],
    as_json: bool,
    step_mm: float | None,
    mpe_mm: float | None,
    procedure: str | None,
    done_list: Path | None,
) -> int:
    """Compute the end play of each of FILES (captures, or CSV with t_s,travel_mm or t_s,travel_in).

    A folder stands for the captures in it and below.

    Exit code: 0 accept, 3 rejected, 4 undecided, 5 not measurable, 13 not readable. Of several
    files an unreadable one counts first, then one that cannot be measured, rejected, undecided.

    Example: rockhold measure left-front.csv --json
    """
    for option, value in (("--step-mm", step_mm), ("--mpe-mm", mpe_mm)):
        if value is not None and not 0 < value < 1000:
            raise click.UsageError(f"{option} must be above 0 and below 1000 mm, is {value}")
    named = {Path(name): name for name in files}
    paths = captures_in(list(named))
    given = Given.of(procedure, mpe_mm, step_mm)
    codes: set[int] = set()
    what = {"done": "measure", "given": repr(given)}
    with nullcontext() if done_list is None else DoneList(done_list, what) as done:
        run: BulkRun[tuple[Path, dict[str, Any], int]] = BulkRun("Measuring", paths, done)
        for path, row, code in run.results(partial(measure_file, given=given), lost_file):
            codes.add(code)
            row["file"] = named.get(path, str(path))  # as it was typed, for whoever reads the JSON
            click.echo(json_line(row) if as_json else _in_words(row))
            run.done(path, code)
    codes |= run.codes_before()
    if not as_json and run.passed_over:
        click.echo(f"{run.count} files measured.{run.words_of_before()}")
    if run.stopped:
        return exits.INTERRUPTED
    return next((code for code in _WORST_FIRST if code in codes), exits.OK)

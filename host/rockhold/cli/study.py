"""`rockhold study`: what the measuring itself can do, from several people's trials."""

from collections import defaultdict
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rockhold.capture.folders import captures_in
from rockhold.cli import exits
from rockhold.cli.bulk import BulkRun
from rockhold.cli.complete import JUDGED_BY
from rockhold.cli.jsonline import json_line
from rockhold.cli.targets import FORCE, PICTURE_AS_WELL, must_take_picture
from rockhold.errors import RockholdError
from rockhold.measure.trace import MM_PER_INCH
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.measure.limits import EndPlayLimits
    from rockhold.study.study import Part, Study
    from rockhold.study.trials import Trial


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@JUDGED_BY
@PICTURE_AS_WELL
@FORCE
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    files: tuple[Path, ...],
    procedure: str | None,
    out: Path | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say how far the same person, and different people, get the same end play.

    FILES are captures or folders of them (each capture is one trial of its technician at its
    vehicle's wheel end), or one CSV with person,wheel_end,trial,end_play_mm. Everybody measures
    every wheel end equally often; nothing may be adjusted in between.

    The result is an analysis of variance (two-way, crossed, with interaction): repeatability,
    reproducibility, what both take of the tolerance band and of the study's variation, with 95 %
    confidence intervals.

    Example: rockhold study trials.csv -o study.png
    """
    must_take_picture(out, force)
    from rockhold.procedure.endplay import shipped_limits
    from rockhold.procedure.load import load_limits
    from rockhold.study.study import study_of
    from rockhold.study.trials import read_trials, table_of

    limits = load_limits(procedure) if procedure else shipped_limits()
    if len(files) == 1 and files[0].suffix.lower() == ".csv":
        trials = read_trials(files[0])
    else:
        trials = _measured(files, limits if procedure else None)
    study = study_of(table_of(trials), limits)
    click.echo(json_line(study.to_json()) if as_json else _in_words(study))
    if out is not None:
        from rockhold.report.pictures.study_plot import draw_study

        draw_study(study, out)
        if not as_json:
            click.echo(f"Picture: {out}")
    return exits.OK


Measured = tuple[str, str, str, float | None, str]  # person, wheel end, when, end play, problem


def measure_trial(path: Path, limits: "EndPlayLimits | None") -> Measured:
    """Return what a capture says of one trial, measured anew from its readings."""
    from rockhold.capture.names import vehicle_name, wheel_end_name
    from rockhold.capture.reader import read_capture
    from rockhold.cli.traces import Given, measure_path

    try:
        header = read_capture(path).header
        result = measure_path(path, Given(limits)).result
    except RockholdError as error:
        return "", "", "", None, str(error)
    people = header.get("people")
    who = people[0] if isinstance(people, list) and people else {}
    person = plain(str(who.get("name", ""))) if isinstance(who, dict) else ""
    names = (vehicle_name(header.get("vehicle")), wheel_end_name(header.get("wheel_end")))
    wheel_end = plain(", ".join(name for name in names if name))
    problem = "" if result.end_play_mm is not None else f"{path}: {result.sentence}"
    if not person or not wheel_end:
        problem = f"{path} does not say who measured, or where"
    return person, wheel_end, str(header.get("opened_utc", "")), result.end_play_mm, problem


def lost_trial(path: Path, why: str) -> Measured:
    """Return the same for a capture that could not be measured at all."""
    return "", "", "", None, f"{path}: {why}"


def _measured(files: tuple[Path, ...], limits: "EndPlayLimits | None") -> "list[Trial]":
    from rockhold.study.trials import Trial

    paths = captures_in(files)
    cells: dict[tuple[str, str], list[tuple[str, float]]] = defaultdict(list)
    run: BulkRun[Measured] = BulkRun("Measuring", paths)
    for person, wheel_end, when, value, problem in run.results(
        partial(measure_trial, limits=limits), lost_trial
    ):
        if problem or value is None:
            click.echo(f"Left out: {problem}", err=True)
        else:
            cells[person, wheel_end].append((when, value))
    if run.stopped:
        raise click.Abort
    return [
        Trial(person, wheel_end, str(number), value)
        for (person, wheel_end), done in cells.items()
        for number, (_, value) in enumerate(sorted(done), start=1)
    ]


def _in_words(study: "Study") -> str:
    persons, wheel_ends, trials = study.table.values_mm.shape
    low, high = (edge / MM_PER_INCH for edge in study.band_mm)
    lines = [
        f"{persons} people, {wheel_ends} wheel ends, {trials} trials each; band {low:g} to "
        f"{high:g} in",
        "",
        f"{'':18}{'s':>9}   {'95 % interval':^20}  {'6 s of band':>11}  {'s of total':>10}",
    ]
    lines += [_part_in_words(part) for part in study.parts]
    lines += ["", f"{'':20}{'dof':>5}{'mean square / mm²':>20}{'F':>10}{'p':>10}"]
    for line in study.lines:
        tested = "" if line.f is None else f"{line.f:10.3f}{line.p:10.4f}"
        lines.append(f"{line.cause:20}{line.dof:>5}{line.mean_square_mm2:>20.4e}{tested}")
    lines += ["", *study.remarks, *CUSTOM]
    return "\n".join(lines)


def _part_in_words(part: "Part") -> str:
    ends = ""
    if part.low_mm is not None and part.high_mm is not None:
        ends = f"{part.low_mm / MM_PER_INCH:.5f} to {part.high_mm / MM_PER_INCH:.5f} in"
    share = "" if part.of_total_percent is None else f"{part.of_total_percent:8.1f} %"
    s_in = part.s_mm / MM_PER_INCH
    return f"{part.name:18}{s_in:9.5f}   {ends:^24}{part.of_band_percent:8.1f} %  {share:>10}"


# Common practice, no source.
CUSTOM = (
    "Common practice: a measuring system that takes less than 10 % of the band serves well, above "
    "30 % it does not.",
)

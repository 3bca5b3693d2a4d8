"""The parts of a report about the measurement: the result, the readings, the uncertainty."""

from collections.abc import Iterator, Mapping

from rockhold.evidence import findings as f
from rockhold.measure.budget import BudgetRow
from rockhold.measure.result import EndPlayResult
from rockhold.report.cells import number
from rockhold.report.cells import text_of as said
from rockhold.report.content import Block, Facts, Pictures, Section, Table, Words
from rockhold.report.gather import Gathered
from rockhold.report.pictures import band_picture, trace_picture
from rockhold.report.pictures.svg import text_of
from rockhold.report.units import Units
from rockhold.report.words import (
    band,
    barred,
    finding_words,
    nut_words,
    percent,
    what_uncertainty_means,
)

_UNLIMITED = "∞"


def result_section(job: Gathered, units: Units) -> Section:
    """Return what was measured, against the band, and what to do next."""
    result, limits = job.result, job.limits
    if result is None or limits is None:
        return Section("result", "The result", (Words(job.trouble or "Nothing was measured."),))
    blocks: list[Block] = []
    if result.end_play_mm is not None:
        blocks.append(_band(result, job, units))
        blocks.append(Words(what_uncertainty_means(result, limits, units)))
        if result.verdict and (nut := nut_words(result.to_json(), units)):
            blocks.append(Words(nut, "strong"))
    blocks.append(Facts(tuple(_facts(job, result, units))))
    return Section("result", "The result", tuple(blocks))


def _band(result: EndPlayResult, job: Gathered, units: Units) -> Pictures:
    assert job.limits is not None
    wide, narrow = (
        text_of(band_picture.band_picture(result, job.limits, units, size, name))
        for size, name in ((band_picture.WIDE, "band-wide"), (band_picture.NARROW, "band-narrow"))
    )
    caption = "Diamond: the end play. Bar: its 95 % interval. Dotted: acceptance limits."
    return Pictures(caption, band_picture.description(result, job.limits, units), wide, narrow)


def _facts(job: Gathered, result: EndPlayResult, units: Units) -> Iterator[tuple[str, str]]:
    limits = job.limits
    assert limits is not None
    value_mm, give_mm = result.end_play_mm, result.expanded_mm
    if value_mm is not None and give_mm is not None and units.long_length:
        scale = units.long_per_mm
        yield (
            f"end play in {units.long_length}",
            f"{value_mm * scale:.5f} ± {give_mm * scale:.5f}, {percent(limits.coverage)}",
        )
    yield "tolerance band", f"{band(limits, units)} {units.length}"
    if result.accept_mm is not None and result.accept_mm[0] < result.accept_mm[1]:
        low, high = (units.plain(limit) for limit in result.accept_mm)
        yield "accepted inside", f"{low} to {high} {units.length} (band less guard band)"
    if result.conformity is not None:
        yield "chance to be inside", percent(result.conformity)
    yield "cycles", f"{result.cycles}; {limits.cycles_asked} are asked for"
    if job.found.state == f.NOT_REPRODUCED:
        yield "the file states", f"{_stated(job, units)}. This is not what the readings give."


def _stated(job: Gathered, units: Units) -> str:
    """Return the result that stands in the file."""
    lines = job.capture.of_kind("result") if job.capture else []
    stored = lines[-1]["result"] if lines else None
    if not isinstance(stored, Mapping):
        return "no result"
    value_mm, give_mm = number(stored.get("end_play_mm")), number(stored.get("expanded_mm"))
    verdict = said(stored.get("verdict"))
    if value_mm is None or give_mm is None:
        return f"no end play, verdict {verdict}"
    return f"{units.interval(value_mm, give_mm)} {units.length}, verdict {verdict}"


def trace_section(job: Gathered, units: Units) -> Section:
    """Return the readings as a picture, with findings and holds in words."""
    if job.trace is None or job.result is None:
        return Section("trace", "The readings", (Words(job.trouble or "There are none."),))
    trace, result = job.trace, job.result
    wide, narrow = (
        text_of(trace_picture.trace_picture(trace, result, units, size, name))
        for size, name in (
            (trace_picture.WIDE, "trace-wide"),
            (trace_picture.NARROW, "trace-narrow"),
        )
    )
    caption = (
        "Shaded: held, out or in. Thick: the level of each hold. Numbers: findings. Seconds count "
        "from the first reading; what goes beyond the picture runs along its edge."
    )
    description = trace_picture.description(trace, result, units)
    blocks: list[Block] = [Pictures(caption, description, wide, narrow)]
    begin_s = float(trace.t_s[0]) if len(trace) else 0.0
    blocks += [_findings(result, begin_s, units), *_holds(result, begin_s, units)]
    return Section("trace", "The readings", tuple(blocks))


def _findings(result: EndPlayResult, begin_s: float, units: Units) -> Block:
    if not result.findings:
        if barred(result):
            return Words(f"No findings, but a doubt. {result.doubt}")
        return Words("No findings: the motion was done as asked.")
    rows = tuple(
        (str(at), f"{found.at_s - begin_s:.1f}", finding_words(found, result, units))
        for at, found in enumerate(result.findings, start=1)
    )
    return Table("Findings", ("No.", "At, s", "What was found"), rows, (1,))


def _holds(result: EndPlayResult, begin_s: float, units: Units) -> tuple[Block, ...]:
    if not result.holds:
        return ()
    step_mm = result.step_mm or 0.0
    rows = tuple(
        (
            str(at),
            hold.side,
            f"{hold.start_s - begin_s:.1f}",
            f"{hold.end_s - hold.start_s:.1f}",
            units.value(hold.level_mm, max(step_mm, 1e-4)),
        )
        for at, hold in enumerate(result.holds, start=1)
    )
    head = ("Hold", "Side", "From, s", "Held, s", f"Level, {units.length}")
    words = "Levels are on one scale: zero presses are taken out."
    return Table("Holds", head, rows, (2, 3, 4)), Words(words, "quiet")


def budget_section(job: Gathered, units: Units) -> Section:
    """Return the uncertainty budget, one row for each cause."""
    result = job.result
    if result is None or not result.budget or result.u_mm is None or result.expanded_mm is None:
        return Section("budget", "The uncertainty", (Words("Nothing was measured."),))
    whole = result.u_mm**2
    rows = [_budget_row(row, whole, result.expanded_mm, units) for row in result.budget]
    head = (
        "Cause", "Taken as", f"Share, {units.length}", "Of the whole", "Degrees of freedom",
        "Known from",
    )  # fmt: skip
    dof = _UNLIMITED if result.dof is None or result.dof > 1e6 else f"{result.dof:.1f}"
    coverage = percent(job.limits.coverage) if job.limits else ""
    facts = (
        ("standard uncertainty", f"{units.value(result.u_mm, result.u_mm)} {units.length}"),
        ("degrees of freedom", dof),
        ("coverage factor", f"{result.coverage_factor:.2f}"),
        (
            f"expanded uncertainty, {coverage}",
            f"{units.value(result.expanded_mm, result.expanded_mm)} {units.length}",
        ),
    )
    source = Words("By the GUM (JCGM 100:2008); the decision by JCGM 106:2012.", "quiet")
    table = Table("What the end play may be off, and why", head, tuple(rows), (2, 3, 4))
    return Section("budget", "The uncertainty", (table, Facts(facts), source))


def _budget_row(
    row: BudgetRow, whole_mm2: float, expanded_mm: float, units: Units
) -> tuple[str, ...]:
    share = row.u_mm**2 / whole_mm2 if whole_mm2 > 0 else 0.0
    dof = _UNLIMITED if row.dof > 1e6 else f"{row.dof:.0f}"
    return (
        row.cause,
        row.distribution,
        units.value(row.u_mm, 0.1 * expanded_mm),
        f"{100 * share:.0f} %",
        dof,
        row.source,
    )

"""Put a report together from everything that was gathered about a capture."""

from rockhold import __version__
from rockhold.capture.steps import attempts_of
from rockhold.evidence import findings as f
from rockhold.evidence.words import by_older_method, headline_of
from rockhold.report.cells import moment_of
from rockhold.report.content import BAD, DOUBT, GOOD, Report, Section, printable
from rockhold.report.gather import Gathered
from rockhold.report.part_job import job_section, name_of, remarks_section, tools_section
from rockhold.report.part_proof import cautions_section, check_section, proof_section
from rockhold.report.part_result import budget_section, result_section, trace_section
from rockhold.report.part_steps import steps_section
from rockhold.report.part_torque import torque_section
from rockhold.report.units import Units
from rockhold.report.words import answer
from rockhold.utc import now_utc

_STATES = {f.GOOD: GOOD, f.UNSEALED: DOUBT, f.UNKNOWN_KEY: DOUBT}
_RELY = {
    GOOD: "",
    DOUBT: "Read this with the doubt named above. ",
    BAD: "Do not rely on this file. What stands in it would give: ",
}


def build(job: Gathered, units: Units) -> Report:
    """Return the report of a capture in one system of units."""
    state = _state(job.found)
    result, limits = job.result, job.limits
    sentence, number, verdict = job.trouble or "No end play could be measured.", "", None
    if result is not None and limits is not None:
        sentence = answer(result, limits, units)
        verdict = result.verdict if state != BAD else None
        if result.end_play_mm is not None and result.expanded_mm is not None:
            number = units.interval(result.end_play_mm, result.expanded_mm)
    header = job.capture.header if job.capture else {}
    report = Report(
        title=name_of(job.capture, job.path.name),
        subtitle=f"End play of a wheel end, recorded {moment_of(header.get('opened_utc'))}"
        if header
        else "No capture that can be read",
        state=state,
        headline=headline_of(job.found),
        problems=tuple(sentence for _, sentence in job.found.problems),
        verdict=verdict or ("no verdict" if number else "not measured"),
        verdict_kind=verdict or "none",
        answer=_RELY[state] + sentence if number else sentence,
        number=number,
        unit=units.length,
        sections=_sections(job, units),
        made=f"Made {moment_of(now_utc())} by rockhold {__version__} from {job.path.name}.",
    )
    whole: Report = printable(report)
    return whole


def _state(found: f.Verification) -> str:
    if found.state == f.NOT_REPRODUCED and by_older_method(found):
        return DOUBT  # nobody changed the file; the way to measure did
    return _STATES.get(found.state, BAD)


def _sections(job: Gathered, units: Units) -> tuple[Section, ...]:
    if job.capture is None:
        return (cautions_section(), check_section(job))
    attempts = attempts_of(job.capture)
    parts = (
        result_section(job, units),
        job_section(job.capture),
        trace_section(job, units),
        torque_section(attempts, job.torque, job.trace, units),
        steps_section(job.capture, attempts, units),
        budget_section(job, units),
        tools_section(job.capture, units),
        proof_section(job),
        remarks_section(job.capture),
        cautions_section(),
        check_section(job),
    )
    return tuple(part for part in parts if part is not None)

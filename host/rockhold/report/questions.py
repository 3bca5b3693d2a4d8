"""What a careful reviewer asks of a capture, answered so that all of it fits on one screen."""

import textwrap
from collections.abc import Iterator

from rockhold.capture.steps import attempts_of
from rockhold.capture.tooling import called, tools_of
from rockhold.evidence import findings as f
from rockhold.evidence.words import deed_of, headline_of, sameness, trust_words
from rockhold.plain import plain
from rockhold.report.cells import moment_of, text_of
from rockhold.report.gather import Gathered
from rockhold.report.part_job import in_date, name_of
from rockhold.report.part_steps import never_begun, summary
from rockhold.report.units import Units
from rockhold.report.words import band, barred, finding_words, forbidding, percent

WIDTH = 80
_NAME = 16  # letters for the question
_LINES = 19  # for all answers


def screen(job: Gathered, units: Units) -> list[str]:
    """Return questions and answers, at most 22 lines of 80 letters."""
    header = job.capture.header if job.capture else {}
    lines = [
        _cut(name_of(job.capture, job.path.name)),
        _cut(f"{job.path}, recorded {moment_of(header.get('opened_utc'))}"),
        "",
    ]
    answers = [
        (
            question,
            textwrap.wrap(plain(answer), WIDTH - _NAME, break_long_words=True) or ["–"],
            most,
        )
        for question, answer, most in _answers(job, units)
    ]
    spare = _LINES - sum(min(len(wrapped), most) for _, wrapped, most in answers)
    for question, wrapped, most in answers:
        more = min(max(len(wrapped) - most, 0), spare)  # what others leave free
        spare -= more
        if len(wrapped) > most + more:
            last = wrapped[most + more - 1][: WIDTH - _NAME - 2] + " …"
            wrapped = [*wrapped[: most + more - 1], last]
        lines += [f"{question if not at else '':<{_NAME}}{part}" for at, part in enumerate(wrapped)]
    return lines


def _cut(text: str) -> str:
    text = plain(text)
    return text if len(text) <= WIDTH else text[: WIDTH - 1] + "…"


def _answers(job: Gathered, units: Units) -> Iterator[tuple[str, str, int]]:
    """Yield question, answer, and how many lines it has for sure; _LINES in all."""
    found = job.found
    told = " ".join(sentence for _, sentence in found.problems)
    yield "Untouched?", f"{headline_of(found)}. {told}".strip(), 4
    yield "Which board?", _board(found), 2
    yield "Which person?", _people(found), 2
    yield "Right number?", _number(job, units), 2
    yield "Motion done?", _motion(job, units), 4
    yield "Same decision?", _decision(job, units), 2
    yield "Steps done?", _steps(job), 2
    yield "Tools in date?", _tools(job), 1


def _board(found: f.Verification) -> str:
    board = found.board
    if board is None:
        return "NOT known: its records cannot be checked"
    if not board.sealed:
        return f'NOT signed by board {board.id} "{board.name}"'
    bound = "" if board.header_bound else "; NOT bound to vehicle and wheel end"
    return f'{board.id} "{board.name}", signed; {_trust(board, board.name)}{bound}'


def _people(found: f.Verification) -> str:
    return "; ".join(
        f"{deed_of(seal)} {seal.by}, {_trust(seal, seal.by)}"
        + (f' ("{seal.because}")' if seal.because else "")
        for seal in found.seals
    ) or ("NO seal fits it" if found.state == f.DAMAGED else "NOBODY has sealed it")  # fmt: skip


def _trust(found: f.SealFound | f.BoardFound, called_: str) -> str:
    words = trust_words(found, called_)
    return words if found.trusted else f"NOT trusted: {words}"


def _number(job: Gathered, units: Units) -> str:
    result = job.result
    if result is None:
        return f"NONE: {job.trouble}"
    if result.end_play_mm is None or result.expanded_mm is None:
        said = "none can be measured"
    else:
        said = f"{units.interval(result.end_play_mm, result.expanded_mm)} {units.length}"
    stored = job.found.result
    if stored is None:
        return f"{said}; NOT compared with the file's: it cannot be relied on"
    if not stored.line:
        return f"{said}; the file states none"
    return f"{said}; {sameness(stored)}"


def _motion(job: Gathered, units: Units) -> str:
    result = job.result
    if result is None:
        return "not known"
    begin_s = float(job.trace.t_s[0]) if job.trace is not None and len(job.trace) else 0.0
    asked = job.limits.cycles_asked if job.limits else 0
    text = f"{result.cycles} of {asked} cycles, {len(result.holds)} holds. "
    if not result.findings:
        return f"{text}No findings. {result.doubt if barred(result) else ''}".strip()
    return text + " ".join(
        f"{found.at_s - begin_s:.0f} s: {finding_words(found, result, units)}"
        for found in result.findings
    )


def _decision(job: Gathered, units: Units) -> str:
    result, limits = job.result, job.limits
    if result is None or limits is None:
        return "not known"
    verdict = result.verdict or "no verdict"
    if barred(result):
        verdict += f", since {forbidding(result)} forbids accepting it"
    chance = "" if result.conformity is None else f", {percent(result.conformity)} to be inside"
    return f"{verdict}; tolerance band {band(limits, units)} {units.length}{chance}"


def _steps(job: Gathered) -> str:
    if job.capture is None:
        return "not known"
    attempts = attempts_of(job.capture)
    return summary(attempts, never_begun(job.capture, attempts))


def _tools(job: Gathered) -> str:
    if job.capture is None:
        return "not known"
    opened = text_of(job.capture.header.get("opened_utc"))[:10]
    told = [f"{called(tool)}: {in_date(tool, opened)}" for tool in tools_of(job.capture)]
    return "; ".join(told) or "the capture names no tools"

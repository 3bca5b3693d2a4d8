"""The part of a report about a guided job: every step with its outcome."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from rockhold.capture.reader import Capture
from rockhold.capture.steps import BEGUN, FAILED, SKIPPED, Attempt, outcomes_of
from rockhold.evidence.stepwords import own_steps
from rockhold.procedure.model import Step
from rockhold.report.cells import NOTHING, label, moment, number, text_of, when
from rockhold.report.content import Section, Table, Words
from rockhold.report.units import Units

NOT_BEGUN = "NEVER BEGUN"
UNGUIDED = "Recorded without a guided procedure: no steps are in the file."
_OUTCOMES = {BEGUN: "begun, never closed", FAILED: "FAILED", SKIPPED: "SKIPPED"}
_KINDS = {"end_play": "end play"}


def steps_section(capture: Capture, attempts: list[Attempt], units: Units) -> Section:
    """Return each step with its outcome, earlier attempts and those never begun included."""
    missing = never_begun(capture, attempts)
    told = summary(attempts, missing)
    if not attempts:
        return Section("steps", "The steps", (Words(told),))
    rows = tuple(_row(attempt, units) for attempt in attempts)
    rows += tuple(
        (step.title, _KINDS.get(step.kind, step.kind), NOTHING, NOT_BEGUN, *[NOTHING] * 3)
        for step in missing
    )
    head = ("Step", "Kind", "Attempt", "Outcome", "Details", "By", "Closed")
    table = Table("Every attempt, in the order in which they were begun", head, rows, (2,))
    return Section("steps", "The steps", (Words(told, "strong"), table))


def never_begun(capture: Capture, attempts: list[Attempt]) -> list[Step]:
    """Return the steps of the capture's own procedure that the file does not tell of.

    A step that is there only for when another has failed is left out where that one never did.
    """
    told = {attempt.step for attempt in attempts}
    failed = {attempt.step for attempt in attempts if attempt.outcome == FAILED}
    return [
        step
        for step in own_steps(capture)
        if step.id not in told and (not step.after_failed or step.after_failed in failed)
    ]


def summary(attempts: list[Attempt], missing: Sequence[Step] = ()) -> str:
    """Return in a sentence what was not done; UNGUIDED for a plain capture."""
    if not attempts:
        more = f" Its procedure has {len(missing)} steps." if missing else ""
        return UNGUIDED + more
    last = list(outcomes_of(attempts))
    told = [
        f"{words}: {'; '.join(map(_with_reason, them))}."
        for words, outcome in (("Skipped", SKIPPED), ("Failed", FAILED), ("Not closed", BEGUN))
        if (them := [a for a in last if a.outcome == outcome])
    ]
    if missing:
        told.append(f"Never begun: {'; '.join(step.title for step in missing)}.")
    return " ".join(told) or f"All {len(last)} steps are done."


def _with_reason(attempt: Attempt) -> str:
    return title_of(attempt) + (f" ({attempt.because})" if attempt.because else "")


def title_of(attempt: Attempt) -> str:
    """Return what a step is called."""
    return attempt.title or attempt.step or "a step without a name"


def _row(attempt: Attempt, units: Units) -> tuple[str, ...]:
    details = "; ".join(_details(attempt, units))
    return (
        title_of(attempt),
        _KINDS.get(attempt.kind, attempt.kind),
        str(attempt.number),
        _OUTCOMES.get(attempt.outcome, attempt.outcome),
        details or NOTHING,
        attempt.by or NOTHING,
        when(attempt.ended_utc_us),
    )


def _details(attempt: Attempt, units: Units) -> Iterator[str]:
    # A measured end play tells itself below, in the units of the page.
    if attempt.because and number(attempt.values.get("end_play_mm")) is None:
        yield f"because: {attempt.because}"
    tell = _TELL.get(attempt.kind)
    if tell is not None:
        yield from tell(attempt.values, units)
    else:
        yield from (f"{label(k)} {text_of(v)}" for k, v in attempt.values.items())


def _check(values: Mapping[str, object], units: Units) -> Iterator[str]:
    if "answer" in values:
        yield f"answer: {text_of(values['answer'])}"
    preload_mm = number(values.get("preload_mm"))
    if preload_mm is not None:
        yield f"plunger pushed in by {units.plain(preload_mm)} {units.length}"


def _torque(values: Mapping[str, object], units: Units) -> Iterator[str]:
    yield f"target {moment(values.get('target_nm'), units)}"
    pulls = values.get("pulls")
    if isinstance(pulls, list):
        yield f"{len(pulls)} pull{'' if len(pulls) == 1 else 's'}, listed under torque"
    tight, out_of_turn = values.get("bolts_tightened"), values.get("out_of_turn")
    if isinstance(tight, list) and tight:
        yield f"screws tightened in the order {text_of(tight)}"
    for wrong in out_of_turn if isinstance(out_of_turn, list) else ():
        if isinstance(wrong, Mapping):
            screw, due = text_of(wrong.get("screw")), text_of(wrong.get("due"))
            yield f"OUT OF TURN: screw {screw}, where {due} was due"


def _turn(values: Mapping[str, object], _: Units) -> Iterator[str]:
    turn_rev, places = number(values.get("turn_rev")), number(values.get("lock_positions"))
    way = text_of(values.get("direction"))
    if turn_rev is not None:
        yield f"{way} by {turn_rev:.3g} of a turn ({turn_rev * 360:.0f}°)"
    if places is not None:
        yield f"{places:g} lock position{'' if places == 1 else 's'}"


def _end_play(values: Mapping[str, object], units: Units) -> Iterator[str]:
    value_mm, give_mm = number(values.get("end_play_mm")), number(values.get("expanded_mm"))
    if value_mm is not None and give_mm is not None:
        yield f"{units.interval(value_mm, give_mm)} {units.length}"
    yield f"verdict: {text_of(values.get('verdict'))}"


def _fill(values: Mapping[str, object], _: Units) -> Iterator[str]:
    if values.get("level"):
        yield f"to the {text_of(values['level'])}"


def _spin(values: Mapping[str, object], _: Units) -> Iterator[str]:
    for name in ("smooth", "quiet", "free"):
        if name in values:
            yield f"{name}: {text_of(values[name])}"
    measured = values.get("measured")
    if isinstance(measured, Mapping):
        findings = measured.get("findings")
        rows = findings if isinstance(findings, list) else []
        told = [text_of(row.get("text")) for row in rows if isinstance(row, Mapping)]
        yield f"by the sensor: ran {text_of(measured.get('turned_rev'))} turns"
        yield "by the sensor: " + (" ".join(told) or "ran down evenly")


_TELL: dict[str, Callable[[Mapping[str, object], Units], Iterator[str]]] = {
    "check": _check,
    "torque": _torque,
    "turn": _turn,
    "end_play": _end_play,
    "fill": _fill,
    "spin": _spin,
}

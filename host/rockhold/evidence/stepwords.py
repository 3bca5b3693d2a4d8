"""The steps of a guided job, as verification tells them: what is not done comes by name."""

from rockhold.capture.reader import Capture
from rockhold.capture.steps import BEGUN, DONE, Attempt, attempts_of, outcomes_of
from rockhold.errors import ProcedureError
from rockhold.procedure.load import guided_steps
from rockhold.procedure.model import Step

_LOUD = {"failed": "FAILED", "skipped": "SKIPPED", BEGUN: "begun and never closed"}


def step_lines(capture: Capture) -> tuple[str, ...]:
    """Return a summary, then each step that needs a word; nothing for a capture without steps."""
    attempts = attempts_of(capture)
    if not attempts:
        return ()
    last = {attempt.step: attempt for attempt in outcomes_of(attempts)}
    lines = [_words(attempt) for attempt in last.values() if attempt.outcome != DONE]
    lines += [_repeated(last[step], attempts) for step in last if _times(step, attempts) > 1]
    lines += [
        f"{step.title}: NOT DONE"
        for step in own_steps(capture)
        if step.id not in last and not step.after_failed
    ]
    done = sum(attempt.outcome == DONE for attempt in last.values())
    missing = sum(line.endswith(": NOT DONE") for line in lines)
    return (f"{done} of {len(last) + missing} done", *lines)


def own_steps(capture: Capture) -> tuple[Step, ...]:
    """Return the steps of the guided job in a capture's header; none where it cannot be used.

    A procedure that is one end-play table is no guided job.
    """
    procedure = capture.header.get("procedure")
    text = procedure.get("text") if isinstance(procedure, dict) else None
    if not isinstance(text, str):
        return ()
    try:
        return guided_steps(text, "line 1")
    except ProcedureError:
        return ()  # the result cannot be computed either, and that is said


def _words(attempt: Attempt) -> str:
    because = f": {attempt.because}" if attempt.because else ""
    title = attempt.title or attempt.step
    return f"{title}: {_LOUD.get(attempt.outcome, attempt.outcome)}{because}"


def _times(step: str, attempts: list[Attempt]) -> int:
    return sum(attempt.step == step for attempt in attempts)


def _repeated(last: Attempt, attempts: list[Attempt]) -> str:
    course = [f"attempt {a.number} {a.outcome}" for a in attempts if a.step == last.step]
    return f"{last.title or last.step}: {', '.join(course)}"

"""The steps of a guided job, as they stand in a capture: each attempt, and each step's outcome.

A step's `begun` line opens an attempt and `done`, `failed` or `skipped` closes it. The last closed
attempt is the step's outcome.
"""

import dataclasses
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from rockhold.capture.reader import Capture
from rockhold.errors import CaptureFormatError

BEGUN, DONE, FAILED, SKIPPED = "begun", "done", "failed", "skipped"
FREE_STOP = "free_stop_us"  # of the note that the plunger hangs free, in board time


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt at a step.

    Attributes:
        line: The line of the file that closed it, or opened it when it was never closed.
        step: The step's id in its procedure.
        kind: "check", "torque", "turn", "end_play", "fill" or "spin".
        title: The step in a few words.
        outcome: DONE, FAILED, SKIPPED, or BEGUN when it was never closed.
        number: Which attempt at this step it is, from 1.
        by: Who did it.
        because: Why it failed or was skipped.
        values: What belongs to its kind.
        begun_utc_us: When it was begun, by the host's clock; None when the file does not say.
        ended_utc_us: When it was closed.
    """

    line: int
    step: str
    kind: str
    title: str
    outcome: str
    number: int
    by: str
    because: str
    values: Mapping[str, object] = field(default_factory=dict)
    begun_utc_us: object = None
    ended_utc_us: object = None


def attempts_of(capture: Capture) -> list[Attempt]:
    """Return all attempts in the order of the file; empty for a plain capture."""
    attempts: list[Attempt] = []
    open_at: dict[str, int] = {}
    for line, value in capture.others:
        if value.get("entry") != "step" or next(iter(value)) != "entry":
            continue
        step = str(value.get("step", ""))
        if value.get("outcome") == BEGUN:
            open_at[step] = len(attempts)
            attempts.append(_attempt(line, value, value.get("host_utc_us"), None))
            continue
        # A step carried over from an earlier capture keeps the time when it was done.
        ended = value.get("done_utc_us", value.get("host_utc_us"))
        begun = open_at.pop(step, None)
        if begun is None:
            attempts.append(_attempt(line, value, None, ended))
        else:
            attempts[begun] = _attempt(line, value, attempts[begun].begun_utc_us, ended)
    return attempts


def outcomes_of(attempts: list[Attempt]) -> Iterator[Attempt]:
    """Yield of each step its last closed attempt, or its last one when none was closed."""
    last: dict[str, Attempt] = {}
    for attempt in attempts:
        if attempt.outcome != BEGUN or attempt.step not in last:
            last[attempt.step] = attempt
    yield from last.values()


def _attempt(line: int, value: Mapping[str, object], begun: object, ended: object) -> Attempt:
    values, number = value.get("values"), value.get("attempt")
    return Attempt(
        line=line,
        step=str(value.get("step", "")),
        kind=str(value.get("kind", "")),
        title=str(value.get("title", "")),
        outcome=str(value.get("outcome", "")),
        number=number if isinstance(number, int) else 1,
        by=str(value.get("by", "")),
        because=str(value.get("because", "")),
        values=values if isinstance(values, Mapping) else {},
        begun_utc_us=begun,
        ended_utc_us=ended,
    )


def measured_attempt(capture: Capture) -> Attempt | None:
    """Return the end-play attempt whose readings are the capture's result.

    It is the last one that was done or failed; None for a capture without steps, which is measured
    whole, and for a job whose end play was never measured.

    Raises:
        CaptureFormatError: When its times are none.
    """
    found = None
    for attempt in attempts_of(capture):
        if (
            attempt.kind == "end_play"
            and attempt.outcome in (DONE, FAILED)
            and "from_us" in attempt.values
        ):
            found = attempt
    if found is not None:
        window_of(capture, found)
    return found


def window_of(capture: Capture, attempt: Attempt) -> tuple[int, int]:
    """Return the board times, in µs, between which an end-play attempt was measured.

    Raises:
        CaptureFormatError: When its line does not say them.
    """
    from_us, to_us = attempt.values.get("from_us"), attempt.values.get("to_us")
    if (
        not (isinstance(from_us, int) and isinstance(to_us, int))
        or isinstance(from_us, bool)
        or not 0 <= from_us <= to_us
    ):
        raise CaptureFormatError(
            f"{capture.path}: the step on line {attempt.line} does not say when it was measured",
            attempt.line,
        )
    return from_us, to_us


def noted_free_us(capture: Capture, attempt: Attempt) -> int | None:
    """Return when the plunger was noted to hang free before an attempt, in µs of the board.

    None when nobody noted it.

    Raises:
        CaptureFormatError: When its line holds no such time.
    """
    noted_us = attempt.values.get(FREE_STOP)
    if noted_us is None:
        return None
    from_us, _ = window_of(capture, attempt)
    if not isinstance(noted_us, int) or isinstance(noted_us, bool) or not 0 <= noted_us <= from_us:
        raise CaptureFormatError(
            f"{capture.path}: the step on line {attempt.line} does not say when the plunger hung "
            "free",
            attempt.line,
        )
    return noted_us


def free_note_us(attempts: Iterable[Attempt]) -> int | None:
    """Return when the plunger was noted last to hang free, in µs of the board; None when never.

    Only a step that was done counts: one that is begun again is set up again, too.
    """
    noted_us = None
    for attempt in attempts:
        at_us = attempt.values.get(FREE_STOP)
        if attempt.kind == "check" and attempt.outcome == DONE:
            noted_us = at_us if isinstance(at_us, int) and at_us >= 0 else None
    return noted_us


def steps_json(capture: Capture) -> str:
    """Return every attempt of a guided job as a JSON list, for other programs."""
    rows = [dataclasses.asdict(attempt) for attempt in attempts_of(capture)]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"

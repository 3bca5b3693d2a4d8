"""What has been done of a job, and so which step is due.

A step is due when it was never closed, or when a nut was turned or torqued after it: whoever goes
back and turns the nut has to do again what stands behind it.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from rockhold.capture.steps import BEGUN, DONE, FAILED, SKIPPED, Attempt
from rockhold.procedure import model as p

STOPPED = "stopped here"  # why an attempt was closed that the person left for another day
_NUT = (p.TORQUE, p.TURN)


@dataclass(frozen=True, slots=True)
class Closed:
    """How a step was closed last: its place in the course of the job, outcome, reason, values."""

    place: int
    outcome: str
    because: str
    values: dict[str, object]


class History:
    """The closed attempts of a job.

    Args:
        procedure: The steps.
        past: Attempts that are on disk already.
    """

    def __init__(self, procedure: p.Procedure, past: Iterable[Attempt] = ()) -> None:
        self._procedure = procedure
        self._last: dict[str, Closed] = {}
        self._attempts: dict[str, int] = {}
        self._place = 0
        self.last_step = ""
        self.last_outcome = ""
        for attempt in past:
            number = max(attempt.number, self._attempts.get(attempt.step, 0))
            self._attempts[attempt.step] = number
            if attempt.outcome in (DONE, FAILED, SKIPPED):
                self.close(attempt.step, attempt.outcome, attempt.because, dict(attempt.values))
            elif attempt.outcome == BEGUN:
                self.last_step, self.last_outcome = attempt.step, BEGUN

    def next_number(self, step: str) -> int:
        """Return the number of a step's next attempt, and count it."""
        self._attempts[step] = self._attempts.get(step, 0) + 1
        return self._attempts[step]

    def close(self, step: str, outcome: str, because: str, values: dict[str, object]) -> None:
        """Note how an attempt ended."""
        self._place += 1
        self._last[step] = Closed(self._place, outcome, because, values)
        self.last_step, self.last_outcome = step, outcome

    def last(self, step: str) -> Closed | None:
        """Return how a step was closed last, None when it never was."""
        return self._last.get(step)

    def is_due(self, index: int) -> bool:
        """Say whether a step has to be done, or done again."""
        step = self._procedure.steps[index]
        if step.after_failed:
            return False
        last = self._last.get(step.id)
        return last is None or last.place < self._nut_moved_before(index)

    def _nut_moved_before(self, index: int) -> int:
        places = [0]
        for step in self._procedure.steps[:index]:
            last = self._last.get(step.id)
            if step.kind in _NUT and last is not None and last.outcome != SKIPPED:
                places.append(last.place)
        return max(places)

    def next_due(self) -> int | None:
        """Return the index of the first step that is due, None when none is."""
        steps = range(len(self._procedure.steps))
        return next((index for index in steps if self.is_due(index)), None)

    def needed(self) -> list[p.Step]:
        """Return the steps that belong to this job: all but those for a failure that never was."""
        return [
            step for step in self._procedure.steps if not step.after_failed or step.id in self._last
        ]

    def open_points(self) -> list[tuple[p.Step, str]]:
        """Return each step that is not done, with what became of it and why."""
        points = []
        for index, step in enumerate(self._procedure.steps):
            last = self._last.get(step.id)
            if last is None or self.is_due(index):
                if not step.after_failed:
                    points.append((step, "not done" if last is None else "to be done again"))
            elif last.outcome != DONE:
                stopped = last.because == STOPPED
                points.append(
                    (step, "broken off" if stopped else f"{last.outcome}: {last.because}")
                )
        return points

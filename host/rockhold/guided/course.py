"""Where a guided job is, and what is written of it: no keys, no terminal, no clock, no file.

    ASK ──go──▶ (done)                     check, turn, fill, spin
     │ ╲──go──▶ ACTIVE ──go, enough──▶ (done or failed)     torque, end play
     ├──no, skip──▶ WRITE a reason ──▶ (failed or skipped)
     ├──back──▶ ASK of the step before
     └──stop──▶ ENDED
    (failed) ──▶ FAILED ──go──▶ ASK where mending begins
                   └──────no──▶ ASK of what is due next
    nothing due ──▶ REVIEW ──go──▶ ENDED

What is decided comes out as entries for the capture; whoever runs the job writes each one to disk
before the next screen is shown.
"""

from collections.abc import Iterable

from rockhold.capture.steps import BEGUN, DONE, FAILED, Attempt
from rockhold.guided import turn
from rockhold.guided.history import STOPPED, Closed, History
from rockhold.guided.means import Means
from rockhold.guided.measuring import Measuring
from rockhold.guided.plunger import Plunger
from rockhold.guided.pulling import Pulling
from rockhold.guided.spinning import Spinning
from rockhold.measure.result import EndPlayResult
from rockhold.procedure import model as p
from rockwire import messages as m

ASK, ACTIVE, WRITE, FAILED_, REVIEW, ENDED = "ask", "active", "write", "failed", "review", "ended"


class Course:
    """The course of one job.

    Args:
        procedure: Its steps.
        means: What it is done with.
        past: Attempts that are on disk already, when it goes on.

    Attributes:
        phase: Where in the picture above.
        index: The step that is shown.
        said: What to tell the person, "" for nothing.
        pulling: The torque step that goes on.
        measuring: The end-play step that goes on.
        spinning: The spin step that is shown.
        plunger: Where the indicator's plunger stands.
        asked_early: Whether the person wanted to measure before there was enough.
        result: The end play that was measured last.
        writing: The outcome that a reason is being written for.
        stopped: Whether the person stopped before the end.
    """

    def __init__(self, procedure: p.Procedure, means: Means, past: Iterable[Attempt] = ()) -> None:
        self.procedure = procedure
        self.history = History(procedure, past)
        self._means = means
        self._entries: list[dict[str, object]] = []
        self.phase = ASK
        self.index = 0
        self.said = ""
        self.pulling: Pulling | None = None
        self.measuring: Measuring | None = None
        asked_mm = [step.end_play.preload_mm for step in procedure.steps if step.end_play]
        self.plunger = Plunger(max(asked_mm, default=0.0))
        self.asked_early = False
        self.result: EndPlayResult | None = None
        self.stopped = False
        self.writing = ""
        self._number = 0
        self._opened = ""  # a check that is in the record already: something was noted in it
        self._board_us: int | None = None
        self.spinning: Spinning | None = None
        self._place()

    @property
    def step(self) -> p.Step:
        """The step that is shown."""
        return self.procedure.steps[self.index]

    @property
    def ready(self) -> bool:
        """Whether what goes on has seen enough, so that GO ends it well."""
        if self.pulling is not None:
            return self.pulling.complete
        return self.measuring is not None and self.measuring.following.done

    @property
    def board_us(self) -> int:
        """The newest time of the board, in µs."""
        return self._board_us or 0

    @property
    def threads(self) -> float:
        """Threads per inch of the nut at hand; 0 when not known."""
        return self._means.threads

    def advised(self) -> dict[str, object]:
        """Return the turn that follows from the end play measured last; empty when none does."""
        return turn.advised(self.history, self.step)

    @property
    def measure_again(self) -> bool:
        """Whether the end play that is shown failed by the way it was measured, not by the nut."""
        before = self.before()
        if self.step.kind != p.END_PLAY or before is None or "verdict" not in before.values:
            return False
        return before.values["verdict"] is None or bool(before.values.get("inside_limits"))

    def before(self) -> Closed | None:
        """Return how the step that is shown was closed last."""
        return self.history.last(self.step.id)

    def take_entries(self) -> list[dict[str, object]]:
        """Return what was decided since the last call, to be written to disk."""
        entries, self._entries = self._entries, []
        return entries

    def note_time(self, message: tuple[object, ...]) -> None:
        """Take the board's time from a message."""
        t_us = None
        if isinstance(message, m.Readings):
            t_us = message.t_us[-1]
        elif isinstance(message, m.Event | m.StatusReply | m.Open):
            t_us = message.t_us
        if isinstance(t_us, int):
            self._board_us = max(t_us, self._board_us or 0)

    def begin(self) -> None:
        """Begin an attempt at a torque or end-play step."""
        step = self.step
        self._number = self.history.next_number(step.id)
        if step.torque is not None:
            self.pulling = Pulling(step.torque)
        else:
            assert step.end_play is not None
            limits = self._means.fit(step.end_play)
            self.measuring = Measuring(limits, self._means.gauge, self.board_us, self.plunger)
            self.asked_early = False
        self.phase = ACTIVE
        self._enter(BEGUN, "", {})

    @property
    def is_active(self) -> bool:
        """Whether an attempt at a torque or end-play step goes on."""
        return self.pulling is not None or self.measuring is not None

    def note_free(self) -> None:
        """Note that the indicator's plunger hangs free now, where the base is being set up."""
        noted, self.said = self.plunger.note()
        if noted and self._opened != self.step.id:
            self._opened = self.step.id
            self._number = self.history.next_number(self.step.id)
            self._enter(BEGUN, "", {})

    def ask_why(self, outcome: str) -> None:
        """Let the person write why a step fails or is skipped."""
        self.phase, self.writing = WRITE, outcome

    def close(self, outcome: str, because: str, values: dict[str, object]) -> None:
        """End the step that is shown, and go to what comes next."""
        if not self.is_active and self._opened != self.step.id:
            self._number = self.history.next_number(self.step.id)
        self._opened = ""
        said = self._news(outcome)
        self._end_attempt(outcome, because, values)
        if outcome == FAILED:
            self.phase = FAILED_
        else:
            self.go_on()
            self.said = said

    def _news(self, outcome: str) -> str:
        """Say how a step ended that went on by itself: its last number would not be seen else."""
        if outcome != DONE or not self.is_active:
            return ""
        words = self.said
        if self.measuring is not None and self.result is not None:
            words = self.result.sentence
        return f"{self.step.title}: done. {words[:1].upper()}{words[1:]}"

    def drop_active(self, because: str) -> None:
        """Close an attempt that goes on, so that the record says what became of it."""
        if self.is_active:
            values = self.torque_values() if self.pulling is not None else {}
            self._end_attempt(FAILED, because, values)

    def _end_attempt(self, outcome: str, because: str, values: dict[str, object]) -> None:
        self._enter(outcome, because, values)
        self.history.close(self.step.id, outcome, because, values)
        self.pulling = self.measuring = None

    def _enter(self, outcome: str, because: str, values: dict[str, object]) -> None:
        entry: dict[str, object] = {
            "entry": "step",
            "step": self.step.id,
            "kind": self.step.kind,
            "title": self.step.title,
            "outcome": outcome,
            "attempt": self._number,
            "by": self._means.by,
        }
        if because:
            entry["because"] = because
        self._entries.append({**entry, "values": values, "board_us": self._board_us})

    def torque_values(self) -> dict[str, object]:
        """Return what belongs into the line of the torque step that goes on."""
        assert self.pulling is not None
        values = self.pulling.values()
        return {**values, "tool": self._means.tool} if self._means.tool else values

    def _place(self) -> None:
        """Begin, or go on where the record ends."""
        history = self.history
        ids = [step.id for step in self.procedure.steps]
        if history.last_step in ids and history.last_outcome in (BEGUN, FAILED):
            self.index = ids.index(history.last_step)
            last = history.last(history.last_step)
            stopped = last is not None and last.because == STOPPED
            self.phase = ASK if stopped or history.last_outcome == BEGUN else FAILED_
        else:
            self.go_on()

    def go_on(self) -> None:
        """Show the first step that is due, or the whole job."""
        due = self.history.next_due()
        if due is None:
            self.phase = REVIEW
        else:
            self.show(due)

    def go_back(self) -> None:
        """Show the step before."""
        steps = self.procedure.steps
        for index in range(self.index - 1, -1, -1):
            if not steps[index].after_failed or self.history.last(steps[index].id):
                self.show(index)
                return
        self.show(min(self.index, len(steps) - 1))

    def show(self, index: int) -> None:
        """Show a step."""
        self.index, self.phase, self.said = index, ASK, ""
        spins = index < len(self.procedure.steps) and self.step.kind == p.SPIN
        self.spinning = Spinning(self.board_us) if spins else None

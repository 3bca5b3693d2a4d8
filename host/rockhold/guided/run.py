"""The guided job as a state machine: no terminal, no clock, no file.

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

from rockhold.capture.steps import BEGUN, DONE, FAILED, SKIPPED, Attempt
from rockhold.guided import turn
from rockhold.guided.history import STOPPED, Closed, History
from rockhold.guided.means import Means
from rockhold.guided.measuring import Measuring
from rockhold.guided.pulling import Pulling
from rockhold.guided.spinning import Spinning
from rockhold.measure.decision import ACCEPT
from rockhold.measure.result import EndPlayResult
from rockhold.procedure import model as p
from rockwire import messages as m

ASK, ACTIVE, WRITE, FAILED_, REVIEW, ENDED = "ask", "active", "write", "failed", "review", "ended"
GO, NO, SKIP, BACK, FORWARD, AGAIN, STOP = "go", "no", "skip", "back", "forward", "again", "stop"
REASONS = (
    "not fitted on this wheel end",
    "the tool is not at hand",
    "done already by somebody else",
    "the maker's instructions say otherwise",
)


class JobRun:
    """One job.

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
        result: The end play that was measured last.
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
        self._asked_early = False
        self.result: EndPlayResult | None = None
        self.stopped = False
        self.writing = ""  # the outcome that a reason is being written for
        self._number = 0
        self._board_us: int | None = None
        self.spinning: Spinning | None = None
        self._place()

    # --- what the shells ask ---------------------------------------------------------------

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

    def take_entries(self) -> list[dict[str, object]]:
        """Return what was decided since the last call, to be written to disk."""
        entries, self._entries = self._entries, []
        return entries

    # --- what comes in ---------------------------------------------------------------------

    def press(self, key: str) -> None:
        """Take one of the keys above, or a digit."""
        self.said = ""
        if key == STOP and self.phase != ENDED:
            self._drop_active(STOPPED)
            self.stopped, self.phase = True, ENDED
            return
        act = {
            ASK: self._press_ask,
            ACTIVE: self._press_active,
            FAILED_: self._press_failed,
            REVIEW: self._press_review,
        }.get(self.phase)
        if act is not None:
            act(key)

    def write(self, text: str) -> None:
        """Take the reason that was asked for; "" goes back."""
        if self.phase != WRITE:
            return
        text = " ".join(text.split())[:300]
        if self.writing == SKIPPED and text in ("1", "2", "3", "4"):
            text = REASONS[int(text) - 1]
        if not text:
            self.phase = ACTIVE if self._active else ASK
        elif self.writing == SKIPPED:
            self._close(SKIPPED, text, {})
        else:
            self._close(FAILED, text, self._failed_values())

    def feed(self, message: tuple[object, ...]) -> bool:
        """Take a message of the board; say whether there is something new to show."""
        self._note_time(message)
        if self.spinning is not None:
            self.spinning.feed(message)
        if self.phase != ACTIVE:
            return False
        if self.pulling is not None:
            news = self.pulling.feed(message)
            self.said = self.pulling.said
            if self.pulling.too_much and not self._pull_goes_on():
                self._close(FAILED, self.pulling.said, self._torque_values())
            elif self.pulling.complete:
                self._close(DONE, "", self._torque_values())
            return news
        return self.measuring is not None and self.measuring.feed(message)

    def _note_time(self, message: tuple[object, ...]) -> None:
        t_us = None
        if isinstance(message, m.Readings):
            t_us = message.t_us[-1]
        elif isinstance(message, m.Event | m.StatusReply | m.Open):
            t_us = message.t_us
        if isinstance(t_us, int):
            self._board_us = max(t_us, self._board_us or 0)

    # --- the phases ------------------------------------------------------------------------

    def _press_ask(self, key: str) -> None:
        kind = self.step.kind
        if key == BACK:
            self._go_back()
        elif key == FORWARD:
            self._go_on()
        elif key == SKIP or (key == NO and kind != p.SPIN):
            self.phase, self.writing = WRITE, SKIPPED if key == SKIP else FAILED
        elif key == GO and kind in (p.TORQUE, p.END_PLAY):
            self._begin()
        elif kind == p.SPIN and key in (GO, NO):
            self._answer_spin(key == GO)
        elif kind == p.TURN:
            self._press_turn(key)
        elif key == GO:
            values = {"answer": "yes"} if kind == p.CHECK else {"level": self.step.level}
            self._close(DONE, "", dict(values))

    def _press_turn(self, key: str) -> None:
        target = self.step.turn
        assert target is not None
        values: dict[str, object] | None = None
        if target.advised:
            values = self.advised() if key == GO else None
        elif target.by_thread and not turn.is_thread_known(target, self.threads):
            values = turn.chosen(target, key)
            self.said = "" if values else turn.WHICH_THREAD
        elif key == GO:
            values = turn.as_asked(target, self.threads)
        if values is not None:
            self._close(DONE, "", values)

    @property
    def threads(self) -> float:
        """Threads per inch of the nut at hand; 0 when not known."""
        return self._means.threads

    def advised(self) -> dict[str, object]:
        """Return the turn that follows from the end play measured last; empty when none does."""
        return turn.advised(self.history, self.step)

    def _answer_spin(self, good: bool) -> None:
        assert self.spinning is not None
        if not good:
            self.phase, self.writing = WRITE, FAILED
        elif self.spinning.say_yes():
            self._close(DONE, "", self.spinning.values())
        else:
            self.said = self.spinning.said

    def _press_active(self, key: str) -> None:
        if key == AGAIN:
            self._drop_active("begun again")
            self._begin()
        elif key == SKIP:
            self.phase, self.writing = WRITE, SKIPPED
        elif key == NO:
            self.phase, self.writing = WRITE, FAILED
        elif key.isdigit() and self.pulling is not None:
            self.pulling.at_screw(int(key))
            self.said = self.pulling.said
        elif key == GO and self.pulling is not None:
            self.pulling.press()
            self.said = self.pulling.said
            if self.pulling.complete:
                self._close(DONE, "", self._torque_values())
        elif key == GO and (self.ready or self._asked_early):
            self._measure()
        elif key == GO and self.measuring is not None:
            self._asked_early = True
            holds = self.measuring.following.holds
            self.said = f"{holds} only; the space bar again measures all the same"

    def _press_failed(self, key: str) -> None:
        if key == GO:
            ids = [step.id for step in self.procedure.steps]
            again = "" if self.nothing_measured else self.step.go_back_to
            self._show(ids.index(again) if again else self.index)
        elif key == NO:
            self._go_on()
        elif key == BACK:
            self._go_back()

    def _press_review(self, key: str) -> None:
        if key == GO:
            self.phase = ENDED
        elif key == BACK:
            self.index = len(self.procedure.steps)
            self._go_back()

    # --- doing it --------------------------------------------------------------------------

    def _begin(self) -> None:
        step = self.step
        self._number = self.history.next_number(step.id)
        if step.torque is not None:
            self.pulling = Pulling(step.torque)
        else:
            assert step.end_play is not None
            limits = self._means.fit(step.end_play)
            self.measuring = Measuring(limits, self._means.gauge, self.board_us)
            self._asked_early = False
        self.phase = ACTIVE
        self._enter(BEGUN, "", {})

    def _measure(self) -> None:
        assert self.measuring is not None
        self.result, values = self.measuring.measured()
        good = self.result.verdict == ACCEPT
        self._close(DONE if good else FAILED, "" if good else self.result.sentence, values)

    def _close(self, outcome: str, because: str, values: dict[str, object]) -> None:
        if not self._active:
            self._number = self.history.next_number(self.step.id)
        said = self._news(outcome)
        self._end_attempt(outcome, because, values)
        if outcome == FAILED:
            self.phase = FAILED_
        else:
            self._go_on()
            self.said = said

    def _news(self, outcome: str) -> str:
        """Say how a step ended that went on by itself: its last number would not be seen else."""
        if outcome != DONE or not self._active:
            return ""
        words = self.said
        if self.measuring is not None and self.result is not None:
            words = self.result.sentence
        return f"{self.step.title}: done. {words[:1].upper()}{words[1:]}"

    @property
    def _active(self) -> bool:
        return self.pulling is not None or self.measuring is not None

    def _drop_active(self, because: str) -> None:
        """Close an attempt that goes on, so that the record says what became of it."""
        if self._active:
            values = self._torque_values() if self.pulling is not None else {}
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

    def _torque_values(self) -> dict[str, object]:
        assert self.pulling is not None
        values = self.pulling.values()
        return {**values, "tool": self._means.tool} if self._means.tool else values

    def _failed_values(self) -> dict[str, object]:
        if self.step.kind == p.CHECK:
            return {"answer": "no"}
        if self.pulling is not None:
            return self._torque_values()
        return self.spinning.values() if self.spinning is not None else {}

    def _pull_goes_on(self) -> bool:
        return self.pulling is not None and self.pulling.going

    # --- which step next -------------------------------------------------------------------

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
            self._go_on()

    def _go_on(self) -> None:
        due = self.history.next_due()
        if due is None:
            self.phase = REVIEW
        else:
            self._show(due)

    def _go_back(self) -> None:
        steps = self.procedure.steps
        for index in range(self.index - 1, -1, -1):
            if not steps[index].after_failed or self.history.last(steps[index].id):
                self._show(index)
                return
        self._show(min(self.index, len(steps) - 1))

    def _show(self, index: int) -> None:
        self.index, self.phase, self.said = index, ASK, ""
        spins = index < len(self.procedure.steps) and self.step.kind == p.SPIN
        self.spinning = Spinning(self.board_us) if spins else None

    @property
    def nothing_measured(self) -> bool:
        """Whether the step that is shown is an end play that came to no number."""
        before = self.before()
        return (
            self.step.kind == p.END_PLAY
            and before is not None
            and "verdict" in before.values
            and before.values["verdict"] is None
        )

    def before(self) -> Closed | None:
        """Return how the step that is shown was closed last."""
        return self.history.last(self.step.id)

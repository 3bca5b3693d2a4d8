"""The guided job as a state machine: answers and readings in, entries for the capture out."""

from rockhold.capture.steps import FAILED, SKIPPED
from rockhold.guided import asking, working
from rockhold.guided.course import ACTIVE, ASK, ENDED, FAILED_, REVIEW, WRITE, Course
from rockhold.guided.history import STOPPED
from rockhold.guided.keys import BACK, GO, NO, STOP
from rockhold.procedure import model as p

REASONS = (
    "not fitted on this wheel end",
    "the tool is not at hand",
    "done already by somebody else",
    "the maker's instructions say otherwise",
)


class JobRun(Course):
    """One job, led by what the person answers."""

    def press(self, key: str) -> None:
        """Take one of the keys above, or a digit."""
        self.said = ""
        if key == STOP and self.phase != ENDED:
            self.drop_active(STOPPED)
            self.stopped, self.phase = True, ENDED
            return
        act = {
            ASK: asking.press,
            ACTIVE: working.press,
            FAILED_: _after_failure,
            REVIEW: _at_the_end,
        }.get(self.phase)
        if act is not None:
            act(self, key)

    def write(self, text: str) -> None:
        """Take the reason that was asked for; "" goes back."""
        if self.phase != WRITE:
            return
        text = " ".join(text.split())[:300]
        if self.writing == SKIPPED and text in ("1", "2", "3", "4"):
            text = REASONS[int(text) - 1]
        if not text:
            self.phase = ACTIVE if self.is_active else ASK
        elif self.writing == SKIPPED:
            self.close(SKIPPED, text, {})
        else:
            self.close(FAILED, text, self._failed_values())

    def feed(self, message: tuple[object, ...]) -> bool:
        """Take a message of the board; say whether there is something new to show."""
        self.note_time(message)
        shown = self.plunger.feed(message)
        if self.spinning is not None:
            self.spinning.feed(message)
        if self.phase == ASK and self.step.shows_indication:
            if shown and self.plunger.moved:
                self.said = ""  # it was said of where the plunger stood before
            return shown
        return self.phase == ACTIVE and working.feed(self, message)

    def _failed_values(self) -> dict[str, object]:
        if self.step.kind == p.CHECK:
            return {"answer": "no"}
        if self.pulling is not None:
            return self.torque_values()
        return self.spinning.values() if self.spinning is not None else {}


def _after_failure(course: Course, key: str) -> None:
    if key == GO:
        ids = [step.id for step in course.procedure.steps]
        again = "" if course.measure_again else course.step.go_back_to
        course.show(ids.index(again) if again else course.index)
    elif key == NO:
        course.go_on()
    elif key == BACK:
        course.go_back()


def _at_the_end(course: Course, key: str) -> None:
    if key == GO:
        course.phase = ENDED
    elif key == BACK:
        course.index = len(course.procedure.steps)
        course.go_back()

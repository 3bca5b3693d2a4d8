"""Steps that ask: what an answer does to a check, a turn, a fill, a spin, or a step not begun."""

from rockhold.capture.steps import DONE, FAILED, SKIPPED
from rockhold.guided import turn
from rockhold.guided.course import Course
from rockhold.guided.keys import BACK, FORWARD, FREE, GO, NO, SKIP
from rockhold.procedure import model as p


def press(course: Course, key: str) -> None:
    """Take an answer to the step that is shown."""
    kind = course.step.kind
    if key == BACK:
        course.go_back()
    elif key == FORWARD:
        course.go_on()
    elif key == SKIP or (key == NO and kind != p.SPIN):
        course.ask_why(SKIPPED if key == SKIP else FAILED)
    elif key == GO and kind in (p.TORQUE, p.END_PLAY):
        course.begin()
    elif kind == p.SPIN and key in (GO, NO):
        _answer_spin(course, key == GO)
    elif kind == p.TURN:
        _turn(course, key)
    elif course.step.shows_indication and key in (GO, FREE):
        _set_up(course, key == FREE)
    elif key == GO:
        values = {"answer": "yes"} if kind == p.CHECK else {"level": course.step.level}
        course.close(DONE, "", dict(values))


def _turn(course: Course, key: str) -> None:
    target = course.step.turn
    assert target is not None
    values: dict[str, object] | None = None
    if target.advised:
        values = course.advised() if key == GO else None
    elif target.by_thread and not turn.is_thread_known(target, course.threads):
        values = turn.chosen(target, key)
        course.said = "" if values else turn.WHICH_THREAD
    elif key == GO:
        values = turn.as_asked(target, course.threads)
    if values is not None:
        course.close(DONE, "", values)


def _set_up(course: Course, free: bool) -> None:
    """Note where the plunger hangs free, or take the yes."""
    if free:
        course.note_free()
        return
    course.said = course.plunger.objects()
    if not course.said:
        course.close(DONE, "", {"answer": "yes", **course.plunger.values()})


def _answer_spin(course: Course, good: bool) -> None:
    assert course.spinning is not None
    if not good:
        course.ask_why(FAILED)
    elif course.spinning.say_yes():
        course.close(DONE, "", course.spinning.values())
    else:
        course.said = course.spinning.said

"""Steps that count and measure: what an answer or a reading does while one of them goes on."""

from rockhold.capture.steps import DONE, FAILED, SKIPPED
from rockhold.guided.course import Course
from rockhold.guided.keys import AGAIN, GO, NO, SKIP
from rockhold.measure.decision import ACCEPT


def press(course: Course, key: str) -> None:
    """Take an answer while pulls are counted or the indicator is followed."""
    if key == AGAIN:
        course.drop_active("begun again")
        course.begin()
    elif key == SKIP:
        course.ask_why(SKIPPED)
    elif key == NO:
        course.ask_why(FAILED)
    elif key.isdigit() and course.pulling is not None:
        course.pulling.at_screw(int(key))
        course.said = course.pulling.said
    elif key == GO and course.pulling is not None:
        course.pulling.press()
        course.said = course.pulling.said
        if course.pulling.complete:
            course.close(DONE, "", course.torque_values())
    elif key == GO and (course.ready or course.asked_early):
        _measure(course)
    elif key == GO and course.measuring is not None:
        course.asked_early = True
        holds = course.measuring.following.holds
        course.said = f"{holds} only; the space bar again measures all the same"


def _measure(course: Course) -> None:
    assert course.measuring is not None
    course.result, values = course.measuring.measured()
    good = course.result.verdict == ACCEPT
    course.close(DONE if good else FAILED, "" if good else course.result.sentence, values)


def feed(course: Course, message: tuple[object, ...]) -> bool:
    """Take a message of the board; say whether there is something new to show."""
    if course.pulling is None:
        return course.measuring is not None and course.measuring.feed(message)
    said = course.pulling.said
    news = course.pulling.feed(message)
    if course.pulling.said != said:  # else what was told about a key stays in view
        course.said = course.pulling.said
    if course.pulling.too_much and not course.pulling.going:
        course.close(FAILED, course.pulling.said, course.torque_values())
    elif course.pulling.complete:
        course.close(DONE, "", course.torque_values())
    return news

"""Up to when a plain capture's work went, as its notes say; later readings show a wait."""

from rockhold.capture.reader import Capture
from rockhold.errors import CaptureFormatError

WORK_DONE, GOES_ON = "work_done", "work_goes_on"


def worked_to_us(capture: Capture) -> int | None:
    """Return up to when the work went, in µs of the board's clock; None where nothing says so.

    Raises:
        CaptureFormatError: When the note holds no such time.
    """
    done_us: int | None = None
    for line, value in capture.others:
        note, at_us = value.get("note"), value.get("board_us")
        if note == GOES_ON:
            done_us = None
        elif note == WORK_DONE:
            if not isinstance(at_us, int) or isinstance(at_us, bool) or at_us < 0:
                raise CaptureFormatError(
                    f"{capture.path}: the note on line {line} does not say when the work was done",
                    line,
                )
            done_us = at_us
    return done_us

"""Which captures wait for a reviewer."""

from rockhold.evidence import findings as f
from rockhold.evidence.keyfile import REVIEWER

WAITS, REVIEWED, NOT_SEALED, BAD = "waits", "reviewed", "not sealed", "bad"


def standing(found: f.Verification) -> str:
    """Say whether a capture waits for a review.

    One whose last seal is a trusted reviewer's is reviewed, or waits for the technician's answer;
    when somebody seals something below, it waits again. A stranger's review counts for nothing.
    """
    if found.state in (f.DAMAGED, f.UNREADABLE, f.NEWER):
        return BAD
    if found.cut_short or not found.seals or found.sealed_lines < found.lines:
        return NOT_SEALED
    last = found.seals[-1]
    return REVIEWED if last.role == REVIEWER and last.trusted else WAITS

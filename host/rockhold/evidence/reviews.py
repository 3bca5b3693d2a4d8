"""A reviewer's verdict: an entry that counts only right above the reviewer's own seal."""

from rockhold.capture.lines import from_line
from rockhold.errors import CaptureFormatError
from rockhold.evidence.keyfile import REVIEWER
from rockhold.evidence.linemarks import START as MARKS
from rockhold.evidence.seal import CheckedSeal, SealLine

ACCEPT = "accept"
REJECT = "reject"
_ENTRIES = (b'{"entry":"review"', b'{"entry":"remark"')

ASK = "ask"  # no verdict: a question to the technician, sealed like one


def review_entry(by: str, verdict: str, because: str, host_utc_us: int) -> dict[str, object]:
    """Return the entry of a review; of a question it is a remark."""
    if verdict == ASK:
        return {"entry": "remark", "by": by, "text": because, "host_utc_us": host_utc_us}
    return {
        "entry": "review",
        "by": by,
        "verdict": verdict,
        "because": because,
        "host_utc_us": host_utc_us,
    }


def review_under(data: bytes, seal: SealLine, checked: CheckedSeal) -> tuple[str, str]:
    """Return verdict and reason of the review that a seal was made for, ("", "") without one.

    Of a reviewer's remark it returns no verdict, and the remark. What a technician writes about a
    review is not a review: the entry must stand right above the marks and the seal of a reviewer.
    """
    if checked.role != REVIEWER:
        return "", ""
    marks = data.rfind(b"\n", 0, seal.start - 1) + 1
    start = data.rfind(b"\n", 0, marks - 1) + 1
    if not data.startswith(MARKS, marks) or not data.startswith(_ENTRIES, start):
        return "", ""
    try:
        entry = from_line(data[start : marks - 1], 0)
    except CaptureFormatError:
        return "", ""
    if entry["entry"] == "remark":
        return "", str(entry.get("text", ""))
    verdict = entry.get("verdict")
    return (str(verdict) if verdict in (ACCEPT, REJECT) else ""), str(entry.get("because", ""))

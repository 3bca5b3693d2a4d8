"""Rules on the order of a capture's lines that no single line shows."""

from rockhold.capture.reader import Capture
from rockhold.errors import SignatureError
from rockhold.evidence.linemarks import START as MARKS


def check_structure(data: bytes, capture: Capture, sealed: int) -> None:
    """Check that no record stands below a result, and that line marks lead to a seal.

    Args:
        data: The file.
        capture: Its lines.
        sealed: Where the last seal ends; 0 without one.

    Raises:
        SignatureError: At the first line that breaks a rule.
    """
    results = [number for number, value in capture.others if next(iter(value)) == "result"]
    first_end = min([*results, *capture.seals], default=0)
    for record in capture.records:
        if first_end and record.line > first_end:
            raise SignatureError(
                "a board's record stands below a result or a seal", record.line, record.start
            )
    # Below the last seal, marks are the last whole line (the seal after them was cut short), or a
    # note says that the file was recovered. Anything else was once a seal.
    start = data.find(b"\n" + MARKS, max(sealed - 1, 0)) + 1
    below = data.find(b"\n", start) + 1
    ends = data.find(b"\n", below) if below else -1
    if start and below and ends >= 0 and not data.startswith(b'{"note":', below):
        line = data.count(b"\n", 0, below) + 1
        raise SignatureError("a seal belongs here, and what stands here is none", line, below)

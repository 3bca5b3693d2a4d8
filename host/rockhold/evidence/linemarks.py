"""Line marks: a short hash of each line, so that damage can be shown to a line.

A signature says that something was changed, never where. The marks stand right above a seal and
say where. They prove nothing: whoever changes a line on purpose can change its mark too, and then
only the seal fails. The form is in protocol/README.md, 3.3.
"""

import base64
import hashlib
import re
from dataclasses import dataclass

MARK_SIZE = 3
MOST_MARKS = 200_000  # beyond that, one mark stands for several lines
_LINE = re.compile(rb'\{"marks":"([A-Za-z0-9+/=]{4,800100})","each":([1-9][0-9]{0,6})\}\n')
START = b'{"marks":"'


@dataclass(frozen=True, slots=True)
class Place:
    """Where a file is damaged.

    Attributes:
        line: Number of the first line concerned, from 1.
        byte: Where that line begins, from 0.
        what: What is wrong there, as a sentence.
    """

    line: int
    byte: int
    what: str


def make_marks(above: bytes, after: int) -> bytes:
    """Return the line of marks for the lines of `above` from byte `after` on."""
    lines = _lines(above, after)
    each = -(-len(lines) // MOST_MARKS) or 1
    marks = b"".join(_mark(group) for group in _groups(lines, each))
    text = base64.b64encode(marks + _mark(marks)).decode()
    return f'{{"marks":"{text}","each":{each}}}\n'.encode()


def find_change(data: bytes, after: int, end: int, first_line: int) -> Place | None:
    """Return the first line that does not fit the marks which stand last before a seal.

    Args:
        data: The file.
        after: Where the lines of these marks begin: 0, or the end of the seal above.
        end: Where the seal begins that does not fit.
        first_line: Number of the line at `after`.

    Returns:
        The place; None when the marks fit every line or there are none to go by.
    """
    start = data.rfind(b"\n", after, end - 1) + 1
    match = _LINE.fullmatch(data, start, end)
    lines = _lines(data[:start], after)
    if match is None:
        return Place(first_line + len(lines), start, "it should hold the line marks, and does not")
    marks = _marks_in(match[1])
    if marks is None:
        return Place(first_line + len(lines), start, "the line marks themselves were changed")
    stored = [marks[at : at + MARK_SIZE] for at in range(0, len(marks), MARK_SIZE)]
    each = int(match[2])
    found = [_mark(group) for group in _groups(lines, each)]
    return _first_difference(stored, found, lines, after, first_line, each)


def _marks_in(text: bytes) -> bytes | None:
    try:
        whole = base64.b64decode(text, validate=True)
    except ValueError:
        return None
    marks, check = whole[:-MARK_SIZE], whole[-MARK_SIZE:]
    return marks if _mark(marks) == check and base64.b64encode(whole) == text else None


def _first_difference(
    stored: list[bytes],
    found: list[bytes],
    lines: list[bytes],
    after: int,
    first_line: int,
    each: int,
) -> Place | None:
    if stored == found:
        return None
    at = next(
        (i for i, (a, b) in enumerate(zip(stored, found, strict=False)) if a != b),
        min(len(stored), len(found)),
    )
    byte = after + sum(len(line) for line in lines[: at * each])
    many = "" if each == 1 else f" (or one of the {each - 1} lines below it)"
    if len(stored) == len(found) and stored[at + 1 :] == found[at + 1 :]:
        what = "it was changed"
    elif stored[at + 1 :] == found[at:]:
        what = "the line that stood here was taken out"
    elif stored[at:] == found[at + 1 :]:
        what = "it was put in"
    else:
        what = "from here on, lines were changed, taken out, put in or swapped"
    return Place(first_line + at * each, byte, what + many)


def _lines(above: bytes, after: int) -> list[bytes]:
    return [line + b"\n" for line in above[after:].split(b"\n")[:-1]]


def _groups(lines: list[bytes], each: int) -> list[bytes]:
    if each == 1:
        return lines
    return [b"".join(lines[at : at + each]) for at in range(0, len(lines), each)]


def _mark(data: bytes) -> bytes:
    return hashlib.sha256(data).digest()[:MARK_SIZE]

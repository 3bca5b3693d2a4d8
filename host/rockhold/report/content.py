"""The content of a report as plain values, whatever it is written as.

    Report ── Section ── Words | Facts | Table | Items | Pictures

HTML and PDF are two writings of the same values; nothing is said in a template.
"""

import dataclasses
from dataclasses import dataclass, field
from typing import Any

from rockhold.plain import plain

GOOD, DOUBT, BAD = "good", "doubt", "bad"  # how a reader shall take the banner, or a word


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; `tone` is "plain", "strong", "quiet" or "caution"."""

    text: str
    tone: str = "plain"
    kind: str = field(default="words", init=False)


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with what belongs to them."""

    rows: tuple[tuple[str, str], ...]
    kind: str = field(default="facts", init=False)


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Attributes:
        caption: What it shows.
        head: Name of each column, with its unit.
        rows: The cells; the first of a row names the row.
        numbers: Columns of numbers, which stand to the right.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    kind: str = field(default="table", init=False)


@dataclass(frozen=True, slots=True)
class Items:
    """A list; `numbered` when the order counts."""

    items: tuple[str, ...]
    numbered: bool = False
    kind: str = field(default="items", init=False)


@dataclass(frozen=True, slots=True)
class Commands:
    """What to type, line by line."""

    lines: tuple[str, ...]
    kind: str = field(default="commands", init=False)


@dataclass(frozen=True, slots=True)
class Pictures:
    """One picture in two widths, as SVG text of our own making.

    Attributes:
        caption: What it shows.
        description: The same as the picture says, in words.
        wide: For a desk and for paper.
        narrow: For a phone.
    """

    caption: str
    description: str
    wide: str
    narrow: str
    kind: str = field(default="pictures", init=False)


Block = Words | Facts | Table | Items | Commands | Pictures


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a report with its heading."""

    ident: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report.

    Attributes:
        title: What it is about, in one line.
        subtitle: When and where.
        state: How the evidence is to be taken: GOOD, DOUBT or BAD.
        headline: The state of the evidence in words.
        problems: Every fault of the evidence in a sentence.
        verdict: The verdict, or that there is none, in a few words.
        verdict_kind: "accept", "reject", "undecided" or "none".
        answer: The plain sentence that comes first.
        number: The number with its uncertainty, "" when there is none.
        unit: Its unit.
        sections: The parts.
        made: By what and when the report was made.
    """

    title: str
    subtitle: str
    state: str
    headline: str
    problems: tuple[str, ...]
    verdict: str
    verdict_kind: str
    answer: str
    number: str
    unit: str
    sections: tuple[Section, ...]
    made: str


def printable(value: Any) -> Any:
    """Return a report, or a part of one, whose texts hold nothing that cannot be printed.

    Control characters and those that turn the direction of writing are shown as their codes.
    """
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, tuple):
        return tuple(printable(part) for part in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        parts = {
            f.name: printable(getattr(value, f.name)) for f in dataclasses.fields(value) if f.init
        }
        return dataclasses.replace(value, **parts)
    return value

"""What verification found out about a file, as plain values and as a JSON object."""

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from rockhold.capture.clockfit import BoardClock
from rockhold.evidence.linemarks import Place

GOOD = "good"
UNSEALED = "unsealed"
UNKNOWN_KEY = "unknown_key"
DAMAGED = "damaged"
NOT_REPRODUCED = "not_reproduced"
UNREADABLE = "unreadable"
NEWER = "newer"  # of a format that came after this rockhold

# From bad to worse. A file with several faults has the worst as its state, and of several files
# the worst gives the exit code.
ORDER = (GOOD, UNSEALED, UNKNOWN_KEY, NEWER, UNREADABLE, NOT_REPRODUCED, DAMAGED)


@dataclass(frozen=True, slots=True)
class SealFound:
    """A seal that fits the bytes above it.

    Attributes:
        line: Its line.
        role: What the signer says to be.
        by: Who the signer says to be.
        signed_utc: When the signer says it was.
        key: RFC 7638 thumbprint.
        fingerprint: Its first 80 bits, for people.
        trusted: Whether the user trusts the key for this role.
        known_as: As whose the user knows the key, "" when not at all.
        remark: What must be said about the trust, "" when nothing.
        verdict: In a review: "accept" or "reject", else "".
        because: In a review: the reviewer's reason; without a verdict, what was asked.
    """

    line: int
    role: str
    by: str
    signed_utc: str
    key: str
    fingerprint: str
    trusted: bool
    known_as: str
    remark: str
    verdict: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True)
class BoardFound:
    """What the board's records prove.

    Attributes:
        id: The board's id, hexadecimal.
        name: Its name, as the header says.
        key: RFC 7638 thumbprint of its key, "" when it has none.
        fingerprint: Its first 80 bits, for people.
        records: How many records there are.
        last_line: Line of the last of them, 0 without any.
        closed: Whether the board closed the capture.
        sealed: Whether its signature fits.
        header_bound: Whether that signature covers line 1, too.
        trusted: Whether the user trusts the key as a board's.
        known_as: As which board the user knows the key.
        remark: What must be said, "" when nothing.
    """

    id: str
    name: str
    key: str
    fingerprint: str
    records: int
    last_line: int
    closed: bool
    sealed: bool
    header_bound: bool
    trusted: bool
    known_as: str
    remark: str


@dataclass(frozen=True, slots=True)
class ResultFound:
    """The stored result against the one computed again.

    Attributes:
        line: Line of the stored result, 0 when there is none.
        reproduced: Whether both say the same; None when there is nothing to compare.
        sentence: The stored result in words.
        difference: The first thing that differs, "" when nothing does.
        method: By which method it was made (rockhold.evidence.method); 0 when it does not say.
        verdict: The stored verdict, "" when there is none.
    """

    line: int
    reproduced: bool | None
    sentence: str
    difference: str
    method: int
    verdict: str = ""


@dataclass(frozen=True, slots=True)
class Verification:
    """Everything that was found out about one file.

    Attributes:
        file: Its name as given.
        state: The worst of what was found, one of ORDER.
        problems: Every fault in a sentence, the worst first: (state, sentence).
        damage: The first damage, None when there is none.
        seals: The seals that fit, from above.
        board: What the board's records prove; None when that cannot be said.
        result: The stored result; None when that cannot be said.
        clock: How the board's clock ran against the host's; None when nothing says it.
        job: What the header says of the job, in words for a person: name → value.
        steps: Of a guided job a summary, then each step that needs a word.
        lines: How many whole lines the file has.
        sealed_lines: How many of them stand under a fitting seal, the seal included.
        cut_short: Whether the file ends inside a line.
    """

    file: str
    state: str
    problems: tuple[tuple[str, str], ...] = ()
    damage: Place | None = None
    seals: tuple[SealFound, ...] = ()
    board: BoardFound | None = None
    result: ResultFound | None = None
    clock: BoardClock | None = None
    job: Mapping[str, str] = field(default_factory=dict)
    steps: tuple[str, ...] = ()
    lines: int = 0
    sealed_lines: int = 0
    cut_short: bool = False

    def to_json(self) -> dict[str, object]:
        """Return the object that `verify --json` prints."""
        value = dataclasses.asdict(self)
        value["problems"] = [
            {"state": state, "sentence": sentence} for state, sentence in self.problems
        ]
        return value


def not_examined(path: Path, why: str) -> Verification:
    """Return what is said of a file whose examination failed itself."""
    return Verification(str(path), UNREADABLE, ((UNREADABLE, f"{path}: {why}"),))


def worst(states: Iterable[str]) -> str:
    """Return the worst of several states, GOOD when there is none."""
    return max(states, key=ORDER.index, default=GOOD)

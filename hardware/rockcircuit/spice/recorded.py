"""Words of real gauges: every change of both lines, as logic analysers recorded them."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "recorded"


@dataclass(frozen=True, slots=True)
class Word:
    """One recorded word.

    Attributes:
        name: Of the recording.
        count: What the display showed, in the gauge's own counts.
        unit: "mm" (count of 0.01 mm) or "in" (count of 0.0005 in).
        changes: (µs, levels): bit 0 data, bit 1 clock.
    """

    name: str
    count: int
    unit: str
    changes: tuple[tuple[int, int], ...]

    def line(self, bit: int) -> list[tuple[int, int]]:
        """Return (µs, level) of one line: 0 data, 1 clock."""
        return [(t_us, levels >> bit & 1) for t_us, levels in self.changes]

    @property
    def end_us(self) -> int:
        """Return when the last change is."""
        return self.changes[-1][0]

    @property
    def least_setup_us(self) -> int:
        """Return how long before a rise of the clock the data line last moved, at least."""
        least = self.end_us
        moved = 0
        for (_, before), (t_us, levels) in pairwise(self.changes):
            if levels & 2 and not before & 2:
                least = min(least, t_us - moved)
            if (levels ^ before) & 1:
                moved = t_us
        return least


def words() -> list[Word]:
    """Return all recorded words."""
    return [_read(path) for path in sorted(FOLDER.glob("*.txt"))]


def _read(path: Path) -> Word:
    rows = dict(row.split(": ", 1) for row in path.read_text(encoding="utf-8").splitlines())
    count, unit = rows["shows"].split()
    pairs = [pair.split(":") for pair in rows["changes"].split()]
    changes = tuple((int(t_us), int(levels)) for t_us, levels in pairs)
    return Word(path.stem, int(count), unit, changes)

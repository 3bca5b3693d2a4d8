"""Write hardware/recorded/: one word of each recording, every change of both lines.

    .venv/bin/python tests/hardware/make_recorded.py ../shared/data/logic24

The decoder's vectors hold the lines at the clock's edges only. A circuit also needs to know when
the data line moves in between. Times are µs from the word's first clock edge, plus 1000.
"""

import sys
import zipfile
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parents[2] / "hardware" / "recorded"
# What each display showed, as count and unit; in the names of the recordings.
SHOWN = {
    "caliper-1mm": "-100 mm",
    "caliper0.0005in": "1 in",
    "caliper0.5mm": "50 mm",
    "caliper0in": "0 in",
    "caliper0mm": "0 mm",
    "caliper123.45mm": "12345 mm",
    "caliper5in": "10000 in",
}


def levels_of(path: Path) -> np.ndarray:
    """Return the levels at each µs: bit 0 data, bit 1 clock."""
    with zipfile.ZipFile(path) as archive:
        names = sorted(name for name in archive.namelist() if name.startswith("logic-1"))
        return np.frombuffer(b"".join(archive.read(name) for name in names), np.uint8) & 3


def word_of(levels: np.ndarray) -> list[tuple[int, int]]:
    """Return (µs, levels) of every change of the first whole word, from 1000 µs before it."""
    clock = np.flatnonzero((levels[1:] ^ levels[:-1]) & 2) + 1
    groups = np.split(clock, np.flatnonzero(np.diff(clock) > 3_000) + 1)
    word = next(group for group in groups if len(group) == 48 and group[0] > 1_000)
    begin, end = word[0] - 1_000, word[-1] + 1_000
    changes = np.flatnonzero(levels[1:] != levels[:-1]) + 1
    inside = changes[(changes > begin) & (changes < end)]
    return [(0, int(levels[begin]))] + [(int(t - begin), int(levels[t])) for t in inside]


def text_of(path: Path) -> str:
    """Return what stands in the file for a recording."""
    changes = " ".join(f"{t_us}:{level}" for t_us, level in word_of(levels_of(path)))
    return (
        "comment: one word of a low-cost 24-bit gauge; bit 0 is the data line, bit 1 the clock\n"
        f"source: sigrok-dumps (public domain), caliper/{path.name}, 1 MHz\n"
        f"shows: {SHOWN[path.stem]}\n"
        f"changes: {changes}\n"
    )


def main(folder: Path) -> None:
    """Write all files."""
    FOLDER.mkdir(exist_ok=True)
    for path in sorted(folder.glob("*.sr")):
        name = path.stem.replace("caliper-", "caliper_minus_")
        (FOLDER / f"{name}.txt").write_text(text_of(path), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

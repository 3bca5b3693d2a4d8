import pytest

from rockhold.simulator.gauge24 import edges_of, word_of
from support import VECTORS


# The facts are those of libsigrokdecode's decoder `caliper`; the words as computed from them.
@pytest.mark.parametrize(
    ("count", "inch", "word"),
    [(1234, False, 0x0004D2), (10, True, 0x80000A), (-10, True, 0x90000A), (2, True, 0x800002)],
)
def test_words(count, inch, word):
    assert word_of(count, inch) == word


def test_a_count_beyond_the_gauge_is_refused():
    with pytest.raises(ValueError, match="16 bits"):
        word_of(0x10000, False)


def test_the_edges_look_like_recorded_ones():
    # Against a recording of a real gauge: as many edges, the same levels, widths within its range.
    rows = (VECTORS / "clocked24" / "shows-5in.txt").read_text(encoding="utf-8").splitlines()
    recorded = [
        tuple(map(int, pair.split(":")))
        for pair in next(row for row in rows if row.startswith("edges: "))[7:].split()
    ]
    made = list(edges_of(recorded[0][0], word_of(10_000, True)))
    rising = [levels for _, levels in made if levels & 2]
    assert rising == [levels for _, levels in recorded if levels & 2]
    assert len(made) == len(recorded)
    last = recorded[-1][0] - recorded[0][0]
    assert made[-1][0] - made[0][0] == pytest.approx(last, rel=0.05)

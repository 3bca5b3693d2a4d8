"""The recorded words, against the recordings and the decoder."""

import make_recorded
import pytest

from rockboard.sources.clocked24 import Clocked24
from rockcircuit.spice import recorded
from rockcircuit.spice.bench import Ear
from support_board import SHARED

WORDS = recorded.words()


def test_there_are_seven_and_their_margins_are_known():
    assert len(WORDS) == 7
    # Read off the recordings: the data line is at rest 22 to 24 µs before the clock rises.
    assert [word.least_setup_us for word in WORDS] == [24, 22, 23, 22, 24, 24, 22]


@pytest.mark.parametrize("word", WORDS, ids=lambda word: word.name)
def test_the_decoder_reads_what_the_display_showed(word):
    ear = Ear()
    source = Clocked24(ear)
    before = word.changes[0][1]
    for t_us, levels in word.changes:
        if (levels ^ before) & 2:
            source.edge(levels >> 1, levels & 1, t_us)
        before = levels
    source.poll(word.end_us + 10_000)
    assert ear.said == [(word.count, word.unit)]


@pytest.mark.skipif(not SHARED.exists(), reason="the recordings are not on this computer")
def test_the_files_are_what_the_recordings_hold():
    for path in SHARED.glob("*.sr"):
        name = path.stem.replace("caliper-", "caliper_minus_")
        kept = (recorded.FOLDER / f"{name}.txt").read_text(encoding="utf-8")
        assert kept == make_recorded.text_of(path)

"""The bench of the radio, run short: what gets through, not how fast."""

from bench.radio_rate import run
from support import needs_micropython


@needs_micropython
def test_every_reading_offered_gets_through():
    row = run(500, 1)
    assert row["recorded"] == 500
    assert row["missing"] == row["dropped"] == 0

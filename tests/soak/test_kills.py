"""A handful of what `make kills` does hundreds of times."""

import kills

from support import needs_micropython

pytestmark = needs_micropython


def test_killed_and_unplugged_a_capture_keeps_every_reading_and_verifies():
    figures = kills.run(seed=7, kills=3, replugs=2)
    assert (figures.captures, figures.kills, figures.replugs) == (2, 3, 2)
    assert figures.readings > 100
    assert max(figures.back_s) < 10

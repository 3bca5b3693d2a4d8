"""The vectorised tracker; its equality to the streaming one is in tests/protocol/test_hold.py."""

import numpy as np

from host.measure.jobs import ALL, measured
from rockhold.measure.quiet import blocks, tracker_events
from rockwire.hold import HELD, LOST, HoldTracker


def test_live_and_bulk_agree_on_whole_jobs():
    for gauge in ALL:
        trace, _, _ = measured(gauge, 1003)
        band = max(1, round(0.008 / trace.spans[0].step_mm))
        tracker = HoldTracker(band, 1_000_000, 300_000, 250_000)
        live = [tracker.feed(int(t), int(c)) for t, c in zip(trace.t_us, trace.count, strict=True)]
        bulk = tracker_events(trace.t_us, trace.count, band, 1_000_000, 300_000, 250_000)
        assert [(i, event) for i, event in enumerate(live) if event] == bulk
        assert {HELD, LOST} <= {event for _, event in bulk}


def test_blocks():
    assert blocks(np.array([], dtype=np.int64), 5) == []
    assert blocks(np.array([0, 1, 9, 10]), 5) == [(0, 2), (2, 4)]
    assert blocks(np.array([0, 5]), 5) == [(0, 2)]  # as long as a gap may be is none

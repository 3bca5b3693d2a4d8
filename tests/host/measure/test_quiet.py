"""The search for quiet stretches on whole jobs; the rule itself: tests/protocol/test_hold.py."""

from host.measure.jobs import ALL, measured
from rockhold.measure.quiet import middle_of_three, quiet_starts
from rockwire.hold import HELD, LOST, HoldTracker


def test_live_and_bulk_agree_on_whole_jobs():
    for gauge in ALL:
        trace, _, _ = measured(gauge, 1003)
        band = max(1, round(0.008 / trace.spans[0].step_mm))
        longest_us = int(trace.t_us[-1] - trace.t_us[0])
        tracker = HoldTracker(band, 1_000_000, 300_000, longest_us)
        starts = quiet_starts(middle_of_three(trace.count)[1:-1], band)
        events, live = set(), []
        for t_us, count in zip(trace.t_us.tolist(), trace.count.tolist(), strict=True):
            events.add(tracker.feed(t_us, count))
            live.append(tracker.start_us)
        assert live[2:] == trace.t_us[1:-1][starts].tolist()
        assert {HELD, LOST} <= events

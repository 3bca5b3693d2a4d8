"""The number that is shown is the number that is sealed: both are made of the same readings."""

from dataclasses import replace

from rockhold.capture.trace import trace_from
from rockhold.guided.measuring import Measuring
from rockhold.guided.plunger import Plunger
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.procedure.load import load_procedure
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.simulate import simulate
from rockwire import messages as m
from rockwire.units import HALF_THOU, POUND_FOOT, Scale

BATCH = 8  # readings of the indicator that come together
AFTER_US = 2_000_000


def test_an_adapter_that_is_ahead_of_the_gauge_takes_no_unseen_reading_into_the_window():
    limits = load_procedure("end-play-and-spin").steps[1].end_play
    gauge = GaugeFacts()
    parts = replace(SCENARIO.wheel_end, end_play_mm=0.003 * 25.4)
    trace, _ = simulate(replace(SCENARIO, wheel_end=parts), 8)
    measuring = Measuring(limits, gauge, 0, Plunger(0.0))
    times, counts = trace.t_us.tolist(), trace.count.tolist()
    batches = [
        m.Readings(0, HALF_THOU, tuple(times[at : at + BATCH]), tuple(counts[at : at + BATCH]))
        for at in range(0, len(times), BATCH)
    ]
    shown_after = len(batches) - 4  # the wheel is held yet when the space bar is pressed
    for batch in batches[:shown_after]:
        measuring.feed(batch)
    ahead_us = batches[shown_after].t_us[-1]
    measuring.feed(m.Readings(1, Scale(POUND_FOOT, 1, 0), (ahead_us,), (0,)))
    shown, values = measuring.measured()

    window_us = (values["from_us"], values["to_us"])
    sealed = measure_trace(trace_from(batches, "all", 0, window_us), limits, gauge, None)
    assert shown.end_play_mm is not None
    assert sealed == shown
    assert values["to_us"] == batches[shown_after - 1].t_us[-1]

"""What a person reads of the torque while it is recorded."""

import io

from rockhold.live.live import Live
from rockhold.live.torque_live import TorqueLive
from rockhold.measure.torque.limits import PullLimits
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.wrench import Adapter, Pull, pull_stream
from rockwire import messages as m
from rockwire.units import HALF_THOU, MILLI_G, Scale
from support_torque import TENTH

STREAM = pull_stream([Pull(2.0, 271.0)], Adapter(40, offset_nm=2.0), 6.0, seed=1)


def batches(source=1):
    counts = (STREAM.torque_nm / 1.3558179483314004 * 10).round().astype(int).tolist()
    times = STREAM.t_us.tolist()
    for at in range(0, len(times), 40):
        yield m.Readings(source, TENTH, tuple(times[at : at + 40]), tuple(counts[at : at + 40]))


def test_each_pull_is_told_in_the_adapters_own_unit():
    live = TorqueLive()
    said = [text for batch in batches() for text in live(batch)]
    assert len(said) == 1
    assert said[0].startswith(("Pull 1: peak 199.", "Pull 1: peak 200."))
    assert said[0].endswith(" lbf·ft, with a click")
    assert live.text == "0 lbf·ft"
    assert live(m.Readings(2, Scale(MILLI_G, 1, 0), (1,), (5,))) == []


def test_too_much_is_told():
    live = TorqueLive(PullLimits.for_target(200.0, 250.0))
    said = [text for batch in batches() for text in live(batch)]
    assert said[0].startswith("TOO MUCH: 18")
    assert "the limit is 184 lbf·ft" in said[0]


def test_the_panel_has_it_whether_or_not_there_is_an_indicator():
    out = io.StringIO()
    live = Live(out, shipped_limits())
    for batch in batches(0):
        live(batch)
    live(m.Readings(1, HALF_THOU, (7_000_000,), (5,)))
    live(m.Readings(0, HALF_THOU, (7_000_000,), (5,)))
    assert "Pull 1: peak" in out.getvalue()
    assert "torque 0 lbf·ft" in out.getvalue()

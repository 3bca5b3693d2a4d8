"""A sealed capture with an indicator and a torque adapter, made by the board's own session."""

from pathlib import Path

from rockboard.session import Session
from rockhold.capture.writer import CaptureWriter
from rockhold.evidence.finish import finish
from rockhold.record.header import make_header
from rockhold.simulator.scenario import Scenario
from rockhold.simulator.simulate import simulate
from rockhold.simulator.wrench import Adapter, Pull, pull_stream
from rockwire import messages as m
from rockwire.sender import Sender
from rockwire.units import HALF_THOU, POUND_FOOT, Scale
from support_evidence import GAUGE, JOB, SIGNED_UTC, TECHNICIAN, UTC_US, BenchBoard

ADAPTER = Adapter(rate_hz=40, offset_nm=1.0, handling_nm=3.0)
PULLS = (Pull(2.0, 271.0), Pull(8.0, 300.0))
TENTH = Scale(POUND_FOOT, 1, -1)


class TorqueBoard(BenchBoard):
    """A board with an indicator and a torque adapter."""

    def __init__(self):
        super().__init__()
        sources = ((0, "indicator"), (2, "torque"))
        self.session = Session(self.identity, self.clock, Sender(bytearray(1 << 18)), sources)


def torque_capture(path, pulls=PULLS, seed=20, adapter=ADAPTER, job=JOB):
    """Record, measure and seal; return the path and what the adapter read."""
    board = TorqueBoard()
    trace, _ = simulate(Scenario(gauge=GAUGE), seed)
    stream = pull_stream(pulls, adapter, float(trace.t_s[-1]), seed)
    header = make_header(job, board.ident())
    rows = [(t, 0, c) for t, c in zip(trace.t_us.tolist(), trace.count.tolist(), strict=True)]
    tenths = (stream.torque_nm / 1.3558179483314004 * 10).round().astype(int).tolist()
    rows += [(t, 1, c) for t, c in zip(stream.t_us.tolist(), tenths, strict=True)]
    nonce = bytes.fromhex(header["nonce"])
    board.session.answer(m.Start(2, nonce, UTC_US))
    for t_us, source, count in sorted(rows):
        board.clock.t_us = t_us
        scale = TENTH if source else HALF_THOU
        board.session.channels[source].reading(t_us, count, scale)
        board.session.poll(0)
    board.session.answer(m.Stop(3))
    with CaptureWriter(Path(path)) as writer:
        writer.append(header)
        sent = 0
        while (packet := board.session.next_record()) is not None:
            writer.record(packet, UTC_US + sent)
            sent += 1
            board.session.answer(m.Ack(nonce[:4], sent))
    finish(Path(path), TECHNICIAN, SIGNED_UTC)
    return Path(path), stream

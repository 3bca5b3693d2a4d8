"""Captures for the tests of the evidence, made in this process by the board's own session."""

import base64
import json
from pathlib import Path

from joserfc.jwk import OKPKey

from rockboard.identity import Identity
from rockboard.session import Session
from rockhold.capture.writer import CaptureWriter
from rockhold.evidence.finish import finish
from rockhold.evidence.keyfile import thumbprint_of
from rockhold.evidence.keys import Signer
from rockhold.evidence.trust import Trusted
from rockhold.procedure.endplay import procedure_text
from rockhold.record.header import Job, make_header
from rockhold.simulator.scenario import Gauge, Scenario
from rockhold.simulator.simulate import simulate
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.sender import Sender
from rockwire.units import HALF_THOU

BOARD_SECRET = bytes(range(1, 33))
STRANGE_SECRET = bytes(range(2, 34))
JOB = Job("A. Miller", "end play", procedure_text(), vehicle={"number": "T-118"})
SIGNED_UTC = "2026-09-21T08:14:05Z"
# Half a thousandth of an inch, as the bench board's gauge sends it.
GAUGE = Gauge(unit="in", step_mm=0.0127, rate_hz=13.9, jitter=0.004, lag_s=0.05)
UTC_US = 1_790_000_000_000_000


def person(name="A. Miller", role="technician", secret=b"technician"):
    """A signer whose key follows from a word."""
    return Signer(OKPKey.derive_key(secret, private=True), name, role)


TECHNICIAN = person()
REVIEWER = person("O. Quist", "reviewer", b"reviewer")


def public_of(signer):
    return signer.key.public_key.public_bytes_raw()


def trusting(*signers, board=BOARD_SECRET):
    """The trust of somebody who knows these people and this board."""
    trust = {(thumbprint_of(public_of(who)), who.role): Trusted(who.name) for who in signers}
    if board:
        key = Identity("", board).public_key
        trust[thumbprint_of(key), "board"] = Trusted("Board 7")
    return trust


TRUST = trusting(TECHNICIAN, REVIEWER)


class BenchClock:
    def __init__(self):
        self.t_us = 1_000_000

    def now_us(self):
        return self.t_us


class BenchBoard:
    """The board's session and identity on this Python, shown one trace at a time."""

    def __init__(self, secret=BOARD_SECRET, name="bench board"):
        self.identity = Identity(name, secret)
        self.clock = BenchClock()
        self.session = Session(
            self.identity, self.clock, Sender(bytearray(1 << 17)), ((0, "indicator"),)
        )

    def ident(self):
        return self.session.answer(m.Hello(1))

    def packets(self, nonce, trace, stop=True):
        """Return the packets of a whole capture."""
        self.session.answer(m.Start(2, nonce, UTC_US))
        for t_us, count in zip(trace.t_us.tolist(), trace.count.tolist(), strict=True):
            self.clock.t_us = max(self.clock.t_us, t_us)
            self.session.channels[0].reading(t_us, count, HALF_THOU)
            self.session.poll(0)
        if stop:
            self.session.answer(m.Stop(3))
        out = []
        while (packet := self.session.next_record()) is not None:
            out.append(packet)
            self.session.answer(m.Ack(nonce[:4], len(out)))
        return out


def make_capture(
    path, signer=TECHNICIAN, board_secret=BOARD_SECRET, seed=20, job=JOB, stop=True, scenario=None
):
    """Record, measure and seal; return the path."""
    board = BenchBoard(board_secret)
    trace, _ = simulate(scenario or Scenario(gauge=GAUGE), seed)
    header = make_header(job, board.ident())
    with CaptureWriter(Path(path)) as writer:
        writer.append(header)
        nonce = bytes.fromhex(header["nonce"])
        for index, packet in enumerate(board.packets(nonce, trace, stop)):
            writer.record(packet, UTC_US + index)
            if index == 3:
                writer.append(
                    {"clock": {"host_sent_us": 5, "board_us": 1_000_000, "host_received_us": 9}}
                )
        writer.append({"entry": "remark", "by": job.technician, "text": "cap was loose: ½ turn"})
    if stop:
        finish(Path(path), signer, SIGNED_UTC)
    return Path(path)


def lines_of(data):
    """The lines of a capture, each with its LF."""
    return [line + b"\n" for line in data.split(b"\n")[:-1]]


def record_indexes(lines):
    return [at for at, line in enumerate(lines) if line.startswith(b'{"record":"')]


def packet_of(line):
    return base64.b64decode(json.loads(line)["record"])


def with_packet(line, packet):
    value = json.loads(line)
    return (
        json.dumps(
            {**value, "record": base64.b64encode(packet).decode()}, separators=(",", ":")
        ).encode()
        + b"\n"
    )


def without_seals(data):
    """The lines above the first marks."""
    return data[: data.index(b'{"marks":"')]


def rechained(lines, nonce):
    """Number, chain and CRC of every record made anew, as a forger who knows the format does."""
    chain, out = Chain(nonce), []
    for line in lines:
        if line.startswith(b'{"record":"'):
            body = bytearray(frames.body_of(packet_of(line)))
            body[2:6] = chain.count.to_bytes(4, "little")
            body = bytes(body)
            line = with_packet(line, frames.pack_record(body, chain.extend(body)))
        out.append(line)
    return out

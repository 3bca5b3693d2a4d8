import hashlib

import pytest

from rockboard.recorder import RESERVE
from rockboard.session import Session
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.guard import Guard, Wrapper
from rockwire.receiver import TAKE, Receiver
from rockwire.sender import Sender
from rockwire.units import HALF_THOU

NONCE = bytes(range(16))


class Clock:
    def __init__(self):
        self.t_us = 1_000

    def now_us(self):
        self.t_us += 1
        return self.t_us


class Identity:
    name = "test board"
    board_id = b"boardid8"
    public_key = None

    def sign(self, nonce, chain):
        return None


class KeyedIdentity(Identity):
    public_key = bytes(range(32))

    def sign(self, nonce, chain):
        return hashlib.sha512(nonce + chain.head + bytes((chain.count,))).digest()


@pytest.fixture
def session():
    return Session(Identity(), Clock(), Sender(bytearray(8192)), ((0, "indicator"),))


def fetch(session, receiver):
    """Take all records that the session will send, as a host would."""
    got = []
    while (packet := session.next_record()) is not None:
        frame = frames.unpack(packet)
        assert receiver.judge(frame) == TAKE
        receiver.take(frame)
        got.append(frame.message)
        session.answer(m.Ack(receiver.nonce[:4], receiver.next_number))
    return got


def start(session, nonce=NONCE):
    return session.answer(m.Start(1, nonce, 1_790_000_000_000_000))


def test_a_capture_from_start_to_close(session):
    receiver = Receiver(NONCE)
    assert start(session) == m.Done(1, m.DONE)
    session.channels[0].reading(2_000, 7, HALF_THOU)
    session.event(m.BUTTON, 120)
    assert session.answer(m.Stop(2)) == m.Done(2, m.DONE)
    got = fetch(session, receiver)
    assert [type(message).__name__ for message in got] == [
        "Open", "Source", "Readings", "Event", "Extremes", "Close",
    ]  # fmt: skip
    assert got[0].nonce == NONCE
    assert got[-1].reason == m.BY_HOST


def test_a_board_with_a_key_seals_over_everything_before():
    session = Session(KeyedIdentity(), Clock(), Sender(bytearray(8192)), ((0, "indicator"),))
    start(session)
    session.answer(m.Stop(2))
    chain, packets = Chain(NONCE), []
    while (packet := session.next_record()) is not None:
        packets.append(packet)
    for packet in packets[:-1]:
        chain.extend(frames.body_of(packet))
    seal = frames.unpack(packets[-1]).message
    assert seal == m.Seal(KeyedIdentity.public_key, KeyedIdentity().sign(NONCE, chain))


def test_a_board_without_room_to_sign_closes_unsigned_and_goes_on():
    class Crowded(KeyedIdentity):
        def sign(self, nonce, chain):
            raise MemoryError

    session = Session(Crowded(), Clock(), Sender(bytearray(8192)), ((0, "indicator"),))
    start(session)
    session.answer(m.Stop(2))
    last = type(fetch(session, Receiver(NONCE))[-1])
    assert last is m.Close
    assert session.state == m.READY
    assert start(session, bytes(range(16))) == m.Done(1, m.DONE)


def test_a_repeated_start_changes_nothing_and_another_is_refused(session):
    start(session)
    session.channels[0].reading(2_000, 7, HALF_THOU)
    assert start(session) == m.Done(1, m.DONE)
    assert start(session, bytes(16)) == m.Done(1, m.BUSY)
    session.answer(m.Stop(2))
    assert session.answer(m.Stop(3)) == m.Done(3, m.NOT_RECORDING)
    assert m.Readings(0, HALF_THOU, (2_000,), (7,)) in fetch(session, Receiver(NONCE))


def test_resume_sends_again_from_where_the_host_says(session):
    start(session)
    session.answer(m.Stop(2))
    first = [session.next_record() for _ in range(4)]
    assert session.answer(m.Resume(5, NONCE, 1)) == m.Done(5, m.DONE)
    assert [session.next_record() for _ in range(3)] == first[1:]
    assert session.answer(m.Resume(6, bytes(16), 0)) == m.Done(6, m.UNKNOWN_CAPTURE)
    assert session.answer(m.Resume(7, NONCE, 0)) == m.Done(7, m.UNKNOWN_CAPTURE)
    assert session.answer(m.Resume(8, NONCE, 99)) == m.Done(8, m.UNKNOWN_CAPTURE)


def test_an_acknowledgement_for_another_capture_lets_nothing_go(session):
    start(session)
    session.answer(m.Ack(b"xxxx", 2))
    assert session.answer(m.Status(3)).waiting == 2


def test_without_a_host_the_ring_fills_the_rest_is_counted_and_the_capture_still_closes():
    session = Session(Identity(), Clock(), Sender(bytearray(RESERVE + 600)), ((0, "indicator"),))
    start(session)
    for t_us in range(2_000, 402_000, 100):
        session.channels[0].reading(t_us, t_us % 50, HALF_THOU)
    session.answer(m.Stop(2))
    got = fetch(session, Receiver(NONCE))
    kept = sum(len(message.t_us) for message in got if isinstance(message, m.Readings))
    dropped = [message for message in got if isinstance(message, m.Dropped)]
    assert kept + sum(message.readings for message in dropped) == 4_000
    assert dropped[-1].last_us == 401_900
    assert isinstance(got[-1], m.Close)
    assert got[-2].readings == 4_000  # the extremes are of all readings, kept or not


def test_who_and_how(session):
    ident = session.answer(m.Hello(9))
    assert (ident.request, ident.board_id, ident.state) == (9, b"boardid8", m.READY)
    assert ident.public_key == bytes(32)
    assert session.answer(m.Clock(4, 77)) == m.ClockReply(4, 77, 1_001)
    start(session)
    assert session.answer(m.Hello(10)).nonce == NONCE
    assert session.answer(m.Status(3))[:2] == (3, m.RECORDING)


def test_nothing_is_recorded_before_start(session):
    session.channels[0].reading(1, 1, HALF_THOU)
    session.channels[0].flush()
    session.event(m.BUTTON)
    assert session.next_record() is None
    start(session)
    session.answer(m.Stop(1))
    assert [type(x).__name__ for x in fetch(session, Receiver(NONCE))] == [
        "Open", "Source", "Close",
    ]  # fmt: skip


def test_over_radio_a_stranger_can_ask_but_not_command(session):
    guard = Guard(bytes(32), b"boardid8", 0, lambda counter: None)
    host = Wrapper(bytes(32), b"boardid8", lambda: 5)
    assert session.answer(m.Start(1, NONCE, 0), guard) == m.Done(1, m.NOT_ALLOWED)
    assert session.state == m.READY
    assert session.answer(m.Hello(2), guard).board_id == b"boardid8"
    assert session.answer(host.wrap(m.Start(3, NONCE, 0)), guard) == m.Done(3, m.DONE)
    waiting = session.answer(m.Status(4), guard).waiting
    # A stranger's Ack would make the board forget records, his Stop would end the capture.
    session.answer(m.Ack(NONCE[:4], 1), guard)
    assert session.answer(m.Stop(5), guard) == m.Done(5, m.NOT_ALLOWED)
    assert session.answer(m.Status(6), guard).waiting == waiting
    assert session.state == m.RECORDING
    assert session.answer(host.wrap(m.Ack(NONCE[:4], 1)), guard) is None
    assert session.answer(m.Status(7), guard).waiting == waiting - 1
    stop = host.wrap(m.Stop(8))
    assert session.answer(stop, guard) == m.Done(8, m.DONE)
    assert session.answer(stop, guard) == m.Stale(8, stop.counter)


def test_a_cable_knows_no_wrapper(session):
    host = Wrapper(bytes(32), b"boardid8", lambda: 5)
    assert session.answer(host.wrap(m.Stop(8))) is None

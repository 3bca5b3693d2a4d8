"""Who may command a board over radio, against the board's own program: nobody without its key."""

import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from radio_air import Air
from radio_bench import KEY, RadioBench
from rockhold.errors import LinkLostError, NoBoardError
from rockhold.record.greeting import greet
from rockhold.record.radiokeys import RadioGuard
from rockwire import frames
from rockwire import messages as m
from rockwire.decoder import Decoder
from rockwire.guard import Wrapper, mac_of
from support import COMMANDS, needs_micropython
from support_board import show_counts
from support_trace import load_trace

pytestmark = needs_micropython
NONCE = bytes(range(16))


@pytest.fixture
def air():
    with Air() as air:
        yield air


class Open:
    """What a host does that has no key: everything passes as it is."""

    def meet(self, board_id):
        pass

    def wrap(self, message):
        return message

    def learn(self, stale):
        pass


def tell(link, message):
    link.write(b"\0" + frames.to_line(frames.pack(message)))


def hear(link, wait_s=0.4):
    """Return all messages that come within a while."""
    decoder, heard = Decoder(), []
    end_s = time.monotonic() + wait_s
    while time.monotonic() < end_s:
        heard += [e.message for e in decoder.feed(link.read(0.02)) if isinstance(e, frames.Frame)]
    return heard


def wrapper_for(board, key=KEY, counter=None):
    now_us = counter or (lambda: time.time_ns() // 1000)
    return Wrapper(key, bytes.fromhex(board.board_id), now_us)


def test_a_stranger_sees_what_is_harmless_and_commands_nothing(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path, seats=2) as board:
        heard = []

        def visit():
            t_us = show_counts(board, range(100), pace_s=0.002)
            with air.another_host():
                link = board.connect(Open())
                tell(link, m.Hello(7))
                tell(link, m.Status(8))
                tell(link, m.Stop(9))
                tell(link, m.Ack(board_nonce(path)[:4], 10_000))
                tell(link, m.Resume(10, board_nonce(path), 0))
                tell(link, wrapper_for(board, bytes(32)).wrap(m.Stop(11)))
                t_us = show_counts(board, range(100, 200), t_us, pace_s=0.002)
                heard.extend(hear(link, 0.6))
                link.close()
            board.press_button(t_us)

        outcome, _ = board.record(path, visit)
    ident, status, *refusals = heard
    assert (ident.name, ident.state) == ("bay 3", m.RECORDING)
    assert (ident.nonce, ident.frames) == (bytes(16), 0)
    assert status.state == m.RECORDING
    refused = [9, 10, 11, int.from_bytes(board_nonce(path)[:2], "little")]
    assert sorted(refusals) == sorted(m.Done(number, m.NOT_ALLOWED) for number in refused)
    # No record went to him, and the host has them all.
    assert outcome.reason == "button"
    assert load_trace(path).count.tolist() == list(range(200))


def board_nonce(path):
    header = path.read_bytes().splitlines()[0]
    return bytes.fromhex(header.split(b'"nonce":"')[1][:32].decode())


def test_a_stranger_on_the_radio_does_not_draw_the_records_from_the_cable(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:
        heard = []

        def visit():
            link = board.connect(Open())
            t_us = 100_000
            for start in range(0, 200, 20):
                tell(link, m.Hello(start))
                t_us = show_counts(board, range(start, start + 20), t_us, pace_s=0.002)
                heard.extend(hear(link, 0.1))
            link.close()
            board.press_button(t_us)

        outcome, words = board.record(path, visit, board.cable)
    assert {type(message) for message in heard} == {m.Ident}
    assert len(heard) == 10
    assert words == []
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(200))


def test_what_was_recorded_on_the_air_is_worth_nothing_a_second_time(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        wrapper = wrapper_for(board)
        link = board.connect(Open())
        start = wrapper.wrap(m.Start(1, NONCE, 0))
        stop = wrapper.wrap(m.Stop(2))
        tell(link, start)
        tell(link, stop)
        assert [x for x in hear(link) if isinstance(x, m.Done)] == [m.Done(1, 0), m.Done(2, 0)]
        link.close()
        with air.another_host():
            link = board.connect(Open())
            tell(link, start)
            tell(link, stop)
            answers = hear(link)
            assert answers == [m.Stale(1, stop.counter), m.Stale(2, stop.counter)]
            # A replay does not make him known either: no records came. Nor after a power cut:
            link.close()
    with RadioBench(air, tmp_path) as board:
        link = board.connect(Open())
        tell(link, start)
        (answer,) = hear(link)
        assert isinstance(answer, m.Stale)
        assert answer.counter >= stop.counter
        link.close()


def test_the_host_takes_the_seat_of_a_stranger_who_does_nothing(tmp_path, air):
    with RadioBench(air, tmp_path, seats=2) as board:
        with air.another_host("one"):
            known = board.connect()
            greet(known)
        with air.another_host("two"):
            stranger = board.connect(Open())
        began_s = time.monotonic()
        link = board.connect()  # waits until the board has sent him away
        assert greet(link).name == "bay 3"
        assert 4 < time.monotonic() - began_s < 8
        with pytest.raises(LinkLostError):
            for _ in range(20):
                stranger.read(0.1)
        # Who has shown the key stays, however long he does nothing.
        assert greet(known).name == "bay 3"
        known.close()
        link.close()


def test_a_host_without_the_key_or_with_a_wrong_one_is_told_so(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        for guard, words in (
            (RadioGuard(tmp_path / "none"), f"no radio key for the board {board.board_id}"),
            (wrong_key(board, tmp_path / "wrong"), "does not obey this computer"),
        ):
            link = board.connect(guard)
            with pytest.raises(NoBoardError, match=words):
                greet(link)
            link.close()


def wrong_key(board, folder):
    folder.mkdir()
    (folder / f"{board.board_id}.key").write_text("77" * 32)
    return RadioGuard(folder)


def test_a_host_whose_clock_is_behind_is_obeyed(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        for utc_us in (2_000_000_000_000_000, 1_000_000_000_000_000, 5):
            folder = tmp_path / str(utc_us)
            folder.mkdir()
            (folder / f"{board.board_id}.key").write_text(KEY.hex())
            link = board.connect(RadioGuard(folder, lambda utc_us=utc_us: utc_us))
            assert greet(link).name == "bay 3"
            link.close()


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory):
    with Air() as air, RadioBench(air, tmp_path_factory.mktemp("fuzz")) as board:
        yield board, {}


LINES = st.one_of(
    st.binary(max_size=200),
    COMMANDS.map(lambda message: frames.to_line(frames.pack(message))),
    # What only the key's owner can send, and means nothing: the counter is filled in later.
    st.tuples(st.integers(0, 255), st.binary(max_size=120)),
    st.lists(COMMANDS, min_size=10, max_size=40).map(
        lambda many: b"".join(frames.to_line(frames.pack(message)) for message in many)
    ),
)


@given(st.lists(LINES, max_size=4))
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_bytes_whatever_crash_the_board(fuzzed, pieces):
    board, state = fuzzed
    if "link" not in state:
        state["link"] = board.connect()
        greet(state["link"])
        state["counter"] = time.time_ns() // 1000 + (1 << 27)
    link = state["link"]
    for piece in pieces:
        if isinstance(piece, tuple):
            state["counter"] += 1
            kind, payload = piece
            key = bytes.fromhex(board.board_id)
            mac = mac_of(KEY, key, state["counter"], kind, payload)
            guarded = m.Guarded(state["counter"], kind, payload, mac)
            piece = frames.to_line(frames.pack(guarded))
        link.write(b"\0" + piece + b"\0")
    assert greet(link).name == "bay 3"


def test_a_third_host_finds_no_seat(tmp_path, air):
    with RadioBench(air, tmp_path, seats=2) as board:
        links = []
        for name in ("one", "two"):
            with air.another_host(name):
                links.append(board.connect())
                greet(links[-1])
        with pytest.raises(NoBoardError, match="serves another computer"):
            board.connect(listen_s=1.0)
        for link in links:
            assert greet(link).name == "bay 3"
            link.close()

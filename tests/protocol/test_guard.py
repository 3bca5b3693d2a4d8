"""Guarded commands, against HMAC of the standard library and against everyone without the key."""

import hashlib
import hmac
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from interpreters import run_on_both
from rockwire import frames, guard, wire
from rockwire import messages as m
from rockwire.guard import Guard, Wrapper
from support import ANSWERS, COMMANDS, RECORDS, U64, VECTORS, needs_micropython

KEY = b"B" * 32
BOARD = b"boardid8"
NOW_US = 1_790_000_000_000_000
TO_GUARD = st.one_of(
    st.builds(m.Start, st.integers(0, 0xFFFF), st.binary(min_size=16, max_size=16), U64),
    st.builds(m.Stop, st.integers(0, 0xFFFF)),
    st.builds(m.Ack, st.binary(min_size=4, max_size=4), st.integers(0, 0xFFFFFFFF)),
)


class Flash:
    def __init__(self):
        self.kept = []

    def keep(self, counter):
        self.kept.append(counter)


def a_guard(stored=0, keep=None, key=KEY):
    return Guard(key, BOARD, stored, keep or Flash().keep)


def a_wrapper(now_us=NOW_US, key=KEY, board=BOARD):
    return Wrapper(key, board, lambda: now_us)


def test_the_vector_is_what_the_wrapper_makes():
    text = (VECTORS / "frames" / "guarded.txt").read_text(encoding="utf-8")
    line = bytes.fromhex(text.split("line: ")[1])
    assert frames.to_line(frames.pack(a_wrapper().wrap(m.Stop(9)))) == line


@given(TO_GUARD, U64)
def test_the_mac_is_that_of_the_standard_library(message, counter):
    kind, payload = wire.type_of(message), wire.encode(message)
    text = b"rockhold command 1" + BOARD + struct.pack("<QB", counter, kind) + payload
    expected = hmac.new(KEY, text, hashlib.sha256).digest()[:16]
    assert guard.mac_of(KEY, BOARD, counter, kind, payload) == expected


@given(TO_GUARD)
def test_what_the_key_holder_sends_is_obeyed_once(message):
    board, wrapped = a_guard(), a_wrapper().wrap(message)
    wrapped = frames.unpack(frames.pack(wrapped)).message
    assert board.admit(wrapped) == (message, None)
    again, answer = board.admit(wrapped)
    assert again is None
    assert isinstance(answer, m.Stale)
    assert answer.counter == NOW_US


@given(TO_GUARD, st.integers(0, 400))
def test_any_one_bit_changed_is_refused(message, where):
    packet = bytearray(wire.encode(a_wrapper().wrap(message)))
    bit = where % (8 * len(packet))
    packet[bit // 8] ^= 1 << bit % 8
    obeyed, answer = a_guard().admit(wire.decode(wire.GUARDED, bytes(packet)))
    assert obeyed is None
    assert answer.result == m.NOT_ALLOWED


@given(COMMANDS | ANSWERS | RECORDS)
def test_nothing_outside_a_wrapper_passes_but_questions(message):
    if isinstance(message, m.Readings):
        return  # may be too long for a frame, which is another test's matter
    obeyed, answer = a_guard().admit(message)
    if isinstance(message, (m.Hello, m.Clock, m.Status)):
        assert (obeyed, answer) == (message, None)
    else:
        assert obeyed is None
        assert answer.result == m.NOT_ALLOWED


@given(st.integers(0, 255), st.binary(max_size=60))
def test_a_key_holder_cannot_crash_the_board(kind, payload):
    mac = guard.mac_of(KEY, BOARD, 5, kind, payload)
    obeyed, answer = a_guard().admit(m.Guarded(5, kind, payload, mac))
    assert (obeyed is None) != (answer is None)
    if obeyed is not None:
        assert kind < m.FIRST_ANSWER
        assert kind != wire.GUARDED


def test_a_command_for_another_board_or_by_another_key_is_refused():
    for wrapper in (a_wrapper(board=b"another8"), a_wrapper(key=b"C" * 32)):
        for number in (9, 0xFFFF):
            obeyed, answer = a_guard().admit(wrapper.wrap(m.Stop(number)))
            assert obeyed is None
            assert answer == m.Done(number, m.NOT_ALLOWED)


def test_questions_need_no_wrapper():
    assert a_wrapper().wrap(m.Hello(1)) == m.Hello(1)


def test_a_recorded_command_is_worth_nothing_after_a_power_cut():
    flash = Flash()
    wrapper = a_wrapper()
    board = a_guard(keep=flash.keep)
    recorded = [wrapper.wrap(m.Stop(number)) for number in range(5)]
    assert all(board.admit(command)[0] for command in recorded)
    assert len(flash.kept) == 1  # the flash was spared
    restarted = a_guard(stored=flash.kept[-1])
    for command in recorded:
        obeyed, answer = restarted.admit(command)
        assert obeyed is None
        wrapper.learn(answer)
    assert restarted.admit(wrapper.wrap(m.Stop(7)))[0] == m.Stop(7)


def test_a_host_whose_clock_is_behind_learns_the_counter():
    board = a_guard()
    assert board.admit(a_wrapper(NOW_US).wrap(m.Stop(1)))[0]
    late = a_wrapper(NOW_US - 10**9)
    _, answer = board.admit(late.wrap(m.Stop(2)))
    late.learn(answer)
    assert board.admit(late.wrap(m.Stop(3)))[0] == m.Stop(3)


def test_a_counter_that_cannot_be_kept_is_not_spent():
    def full(counter):
        raise OSError(28)

    board = a_guard(keep=full)
    obeyed, answer = board.admit(a_wrapper().wrap(m.Stop(9)))
    assert obeyed is None
    assert answer == m.Done(9, m.NOT_ALLOWED)


def test_the_last_counter_of_all():
    board = a_guard()
    top = (1 << 64) - 1
    mac = guard.mac_of(KEY, BOARD, top, 3, b"\1\0")
    assert board.admit(m.Guarded(top, 3, b"\1\0", mac))[0] == m.Stop(1)
    assert isinstance(board.admit(m.Guarded(top, 3, b"\1\0", mac))[1], m.Stale)


@pytest.mark.parametrize("make", [lambda key: a_guard(key=key), lambda key: a_wrapper(key=key)])
def test_a_key_of_another_length_is_refused(make):
    with pytest.raises(ValueError, match="32 bytes, not 31"):
        make(bytes(31))


PROGRAM = """
import sys
from binascii import hexlify, unhexlify
from rockwire import frames, messages as m
from rockwire.guard import Guard, Wrapper
board = Guard(b"B" * 32, b"boardid8", 0, lambda counter: None)
for line in sys.stdin:
    now, number = [int(part) for part in line.split()]
    host = Wrapper(b"B" * 32, b"boardid8", lambda: now)
    packet = frames.pack(host.wrap(m.Ack(b"abcd", number)))
    obeyed, answer = board.admit(frames.unpack(packet).message)
    shown = tuple(obeyed or answer)
    print(hexlify(packet).decode(), [x if isinstance(x, int) else hexlify(x) for x in shown])
print(board.admit(m.Stop(3)), board.admit(m.Hello(4)))
"""


@needs_micropython
def test_both_interpreters_agree():
    lines = [f"{now} {now % 999}" for now in (1, 5, 5, 4, 1 << 40, (1 << 63) + 5, 7)]
    board, host = run_on_both(PROGRAM, lines)
    assert board == host
    assert len(host) == 8


def test_near_its_top_the_counter_is_set_aside_no_further_than_it_goes():
    top = (1 << 64) - 1
    flash = Flash()
    board = a_guard(top - 10, flash.keep)
    assert board.admit(a_wrapper(top - 5).wrap(m.Stop(1)))[0] == m.Stop(1)
    assert flash.kept == [top]


def test_a_counter_is_kept_once_for_a_whole_stretch():
    flash = Flash()
    board = a_guard(0, flash.keep)
    for now_us in (1000, 1001, 1000 + guard.RESERVE, 1001 + guard.RESERVE):
        assert board.admit(a_wrapper(now_us).wrap(m.Stop(1)))[0] == m.Stop(1)
    assert flash.kept == [1000 + guard.RESERVE, 1001 + 2 * guard.RESERVE]
    assert guard.RESERVE == 1 << 26  # with microseconds about once a minute


@pytest.mark.parametrize("size", [31, 33])
def test_a_key_has_32_bytes(size):
    for make in (lambda: a_guard(key=bytes(size)), lambda: a_wrapper(key=bytes(size))):
        with pytest.raises(ValueError, match=f"32 bytes, not {size}"):
            make()


@pytest.mark.parametrize(
    "message", [m.Done(5, 0), m.Close(5, 0), m.Guarded(9, 3, b"\5\0", bytes(16))], ids=str
)
def test_a_wrapper_holds_a_command_and_nothing_else(message):
    # Not an answer, a record or another wrapper in disguise, though its MAC is right.
    obeyed, answer = a_guard().admit(a_wrapper().enclose(message))
    assert obeyed is None
    assert answer.result == m.NOT_UNDERSTOOD

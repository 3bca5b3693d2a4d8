"""A seat at the radio, step by step: other hosts sit down, the stack is full, the ring is full."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockboard.ble_seat import AHEAD, FULL_MS, RING, SMALLEST_MTU, STEP_MS, Seat
from rockwire import messages as m
from rockwire.guard import Guard, Wrapper
from support import FIRMWARE, micropython, needs_micropython

KEY, BOARD = bytes(32), b"boardid8"


class Stack:
    """The radio's side of a seat: its clock, and a queue of notifications."""

    def __init__(self, room=1000):
        self.now_ms = 0
        self.room = room
        self.sent = []

    def ticks_ms(self):
        return self.now_ms

    def later(self, span_ms):
        return self.now_ms + span_ms

    def until(self, at_ms):
        return at_ms - self.now_ms

    def notify(self, connection, data):
        if len(self.sent) >= self.room:
            raise OSError(12)
        self.sent.append((connection, data))


@pytest.fixture
def stack():
    return Stack()


@pytest.fixture
def seat(stack):
    return Seat(stack, Guard(KEY, BOARD, 0, lambda counter: None))


def command(number=1):
    return Wrapper(KEY, BOARD, lambda: number).wrap(m.Stop(number))


@given(st.lists(st.one_of(st.binary(max_size=300), st.none()), max_size=60))
def test_what_is_written_is_read_in_order_or_counted_as_lost(writes):
    seat = Seat(Stack(), Guard(KEY, BOARD, 0, lambda counter: None))
    seat.sit(1)
    seat.read()
    written, read, lost = b"", b"", 0
    for data in writes:
        if data is None:
            read += seat.read()
            assert read == written
        else:
            room = RING - 1 - len(written) + len(read)
            seat.take(data)
            written, lost = (
                (written + data, lost) if len(data) <= room else (written, lost + len(data))
            )
    assert read + seat.read() == written
    assert seat.lost == lost


def test_a_new_host_gets_nothing_of_the_one_before(seat, stack):
    seat.sit(1)
    seat.take(b"from the first")
    seat.rise()
    seat.sit(2)
    seat.take(b"from the second")
    assert seat.write(b"for the first") == len(b"for the first")  # it is gone, and so is he
    assert stack.sent == []
    assert seat.read() == b"from the second"
    assert seat.write(b"for the second") == len(b"for the second")
    assert stack.sent == [(2, b"for the second")]


def test_only_the_host_that_showed_the_key_is_known(seat):
    assert not seat.guard.known
    seat.sit(1)
    seat.read()
    seat.guard.admit(m.Hello(1))
    assert not seat.guard.known
    assert seat.guard.admit(command())[0] == m.Stop(1)
    assert seat.guard.known
    seat.rise()
    assert not seat.guard.known
    seat.sit(2)
    assert not seat.guard.known


def test_a_command_of_one_who_left_does_not_make_the_next_known(seat):
    seat.sit(1)
    seat.read()  # the command came with this
    seat.rise()
    seat.sit(2)
    seat.guard.admit(command())
    assert not seat.guard.known


def test_lines_are_cut_only_where_the_mtu_is_small(seat, stack):
    seat.sit(1)
    seat.read()
    line = bytes(range(1, 183))
    assert seat.write(line) == SMALLEST_MTU - 3
    seat.mtu = 185
    assert seat.write(line) == 182


def test_so_many_at_once_and_then_one_for_each_step(seat, stack):
    seat.sit(1)
    seat.read()
    assert [seat.write(b"x") for _ in range(AHEAD + 1)] == [1] * AHEAD + [0]
    stack.now_ms += 2 * STEP_MS
    assert [seat.write(b"x") for _ in range(3)] == [1, 1, 0]
    stack.now_ms += 1000 * STEP_MS
    assert sum(seat.write(b"x") for _ in range(100)) == AHEAD


def test_a_full_stack_is_left_alone_for_a_while(seat, stack):
    seat.sit(1)
    seat.read()
    stack.room = 1
    assert [seat.write(b"x"), seat.write(b"x")] == [1, 0]
    stack.room = 100
    stack.now_ms += FULL_MS
    assert seat.write(b"x") == 0
    stack.now_ms += STEP_MS
    assert seat.write(b"x") == 1


@needs_micropython
def test_the_interrupt_allocates_nothing():
    assert micropython(FIRMWARE.parent / "tests/firmware/run_seat_allocation.py") == "2048\n"

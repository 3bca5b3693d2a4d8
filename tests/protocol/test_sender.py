from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from rockwire.sender import Sender


def drain(sender):
    return list(iter(sender.take, None))


def test_sends_in_order_up_to_the_window():
    sender = Sender(bytearray(4096), window=3)
    for number in range(5):
        sender.put(bytes((number,)) * 10)
    assert [packet[0] for packet in drain(sender)] == [0, 1, 2]
    sender.acknowledge(2)
    assert [packet[0] for packet in drain(sender)] == [3, 4]


def test_of_itself_a_board_sends_sixteen_and_waits_a_second():
    # protocol/README.md, 1.5: a window of 16; what is not acknowledged within 1 s is sent again.
    sender = Sender(bytearray(4096))
    for number in range(20):
        sender.put(bytes((number,)))
    assert [packet[0] for packet in drain(sender)] == list(range(16))
    sender.pass_time(999)
    assert drain(sender) == []
    sender.pass_time(1)
    assert [packet[0] for packet in drain(sender)] == list(range(16))


def test_goes_back_after_silence():
    sender = Sender(bytearray(4096), patience_ms=1000)
    sender.put(b"a")
    sender.put(b"b")
    assert drain(sender) == [b"a", b"b"]
    sender.pass_time(999)
    assert drain(sender) == []
    sender.pass_time(1)
    assert drain(sender) == [b"a", b"b"]
    sender.acknowledge(2)
    sender.pass_time(5000)
    assert drain(sender) == []


def test_refuses_acknowledgements_that_cannot_be():
    sender = Sender(bytearray(4096))
    sender.put(b"a")
    assert not sender.acknowledge(2)
    assert sender.acknowledge(1)
    assert not sender.acknowledge(0)


def test_an_acknowledgement_starts_the_patience_anew_and_is_taken_but_once():
    sender = Sender(bytearray(4096), patience_ms=1000)
    for packet in (b"a", b"b", b"c"):
        sender.put(packet)
    assert len(drain(sender)) == 3
    sender.pass_time(900)
    sender.acknowledge(1)
    sender.pass_time(900)
    assert drain(sender) == []
    sender.acknowledge(1)  # says nothing new
    sender.pass_time(100)
    assert drain(sender) == [b"b", b"c"]


def test_silence_before_anything_is_sent_does_not_count():
    sender = Sender(bytearray(4096), patience_ms=1000)
    sender.put(b"a")
    sender.pass_time(5000)
    assert drain(sender) == [b"a"]
    sender.pass_time(999)
    assert drain(sender) == []


def test_by_default_sixteen_are_on_the_way_and_a_second_is_waited():
    # protocol/README.md, 1.5
    sender = Sender(bytearray(4096))
    for _ in range(20):
        sender.put(b"x")
    assert len(drain(sender)) == 16
    sender.pass_time(999)
    assert drain(sender) == []
    sender.pass_time(1)
    assert len(drain(sender)) == 16
    sender.pass_time(999)  # the second wait is as long as the first
    assert drain(sender) == []


def test_what_is_acknowledged_before_it_is_sent_is_not_sent():
    # As after a lost link: the host has it from the one before.
    sender = Sender(bytearray(64))
    for packet in (b"a", b"b", b"c"):
        sender.put(packet)
    assert sender.acknowledge(2) is True
    assert drain(sender) == [b"c"]
    assert sender.acknowledge(1) is False


def test_a_packet_that_goes_round_the_end_of_the_ring_comes_back_whole():
    sender = Sender(bytearray(20))
    for packet in (b"0123456789ab", b"cdefghijklmn", b"opqrstuvwxyz"):
        sender.put(packet)
        assert sender.peek(0) == packet
        assert drain(sender) == [packet]
        sender.acknowledge(sender.next_number)


class Store:
    """What is on the flash."""

    def __init__(self, packets):
        self.packets = packets

    def read(self, number):
        return self.packets[number]


def test_saved_records_give_up_their_room_and_are_sent_from_the_store():
    packets = [bytes((number,)) * 15 for number in range(4)]
    sender = Sender(bytearray(64), window=8)
    sender.store = Store(packets)
    for packet in packets[:3]:
        sender.put(packet)
    assert (sender.room, sender.unsaved) == (16, 3)
    assert [sender.peek(ahead) for ahead in (1, 0, 2, 1)] == [packets[n] for n in (1, 0, 2, 1)]
    assert not sender.fits(16)
    assert sender.fits(15)
    assert not sender.fits(15, spare=1)
    sender.mark_saved(2)
    assert (sender.unsaved, sender.peek(0)) == (1, packets[2])
    assert sender.fits(15)
    assert sender.room == 16  # it fits exactly, so nothing was let go
    assert sender.fits(15, spare=1)
    assert sender.room == 32  # one was let go, no more than was needed
    assert not sender.fits(50)  # what is not saved stays, whatever is asked for
    assert (sender.room, sender.unsaved) == (48, 1)
    sender.put(packets[3])
    assert drain(sender) == packets
    assert sender.acknowledge(3)
    assert (sender.saved, sender.unsaved, sender.waiting) == (3, 1, 1)


def test_saved_records_without_a_store_wait():
    sender = Sender(bytearray(20))
    sender.put(b"x" * 15)
    sender.mark_saved(1)
    assert sender.fits(15)
    assert sender.take() is None
    assert sender.waiting == 1


def test_after_a_reset_nothing_of_before_is_left():
    sender = Sender(bytearray(40))
    for packet in (b"abc", b"de", b"fgh"):
        sender.put(packet)
    assert len(drain(sender)) == 3
    sender.peek(2)
    sender.mark_saved(2)
    sender.acknowledge(1)
    sender.reset()
    assert (sender.room, sender.waiting, sender.unsaved, sender.saved) == (40, 0, 0, 0)
    sender.put(b"new")
    assert sender.peek(0) == b"new"
    assert drain(sender) == [b"new"]


class RingAgainstList(RuleBasedStateMachine):
    """The ring behaves as a plain list of packets would."""

    def __init__(self):
        super().__init__()
        self.sender = Sender(bytearray(200), window=4)
        self.kept = []
        self.oldest = 0
        self.sent = 0  # number of the next packet that take must return

    @rule(packet=st.binary(min_size=1, max_size=60))
    def put(self, packet):
        used = sum(len(kept) + 1 for kept in self.kept)
        assert self.sender.fits(len(packet)) == (used + len(packet) + 1 <= 200)
        if self.sender.fits(len(packet)):
            self.sender.put(packet)
            self.kept.append(packet)

    @rule()
    def take(self):
        packet = self.sender.take()
        at = self.sent - self.oldest
        if at < min(4, len(self.kept)):
            assert packet == self.kept[at]
            self.sent += 1
        else:
            assert packet is None

    @precondition(lambda self: self.kept)
    @rule(data=st.data())
    def acknowledge(self, data):
        count = data.draw(st.integers(0, len(self.kept)))
        assert self.sender.acknowledge(self.oldest + count)
        del self.kept[:count]
        self.oldest += count
        self.sent = max(self.sent, self.oldest)

    @rule()
    def go_back(self):
        self.sender.go_back()
        self.sent = self.oldest

    @invariant()
    def counts(self):
        assert self.sender.waiting == len(self.kept)
        assert self.sender.room == 200 - sum(len(packet) + 1 for packet in self.kept)


TestRing = RingAgainstList.TestCase
TestRing.settings = settings(max_examples=60, stateful_step_count=60, deadline=None)

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

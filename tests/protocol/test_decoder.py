from hypothesis import given
from hypothesis import strategies as st

from rockwire import frames
from rockwire.decoder import Decoder, Rejected
from support import COMMANDS


def feed_all(pieces):
    decoder = Decoder()
    return [event for piece in pieces for event in decoder.feed(piece)]


@given(st.lists(st.binary(max_size=400) | st.just(b"\0"), max_size=30))
def test_any_bytes_in_any_split_never_raise_and_mean_the_same(pieces):
    data = b"".join(pieces)
    whole = feed_all([data])
    assert feed_all(pieces) == whole
    assert feed_all([bytes((byte,)) for byte in data]) == whole


def test_a_line_as_long_as_a_notification_with_its_delimiter_is_the_longest():
    # protocol/README.md: at most 182 bytes, the delimiter counted.
    assert Decoder().feed(b"\xff" * 181 + b"\0") == [Rejected("cobs", 181)]
    assert Decoder().feed(b"\xff" * 182 + b"\0") == [Rejected("long", 182)]


@given(st.binary(max_size=300), COMMANDS)
def test_the_frame_behind_rubbish_is_found(rubbish, message):
    line = frames.to_line(frames.pack(message))
    events = feed_all([rubbish + b"\0" + line])
    assert events[-1].message == message


@given(st.lists(COMMANDS, max_size=8))
def test_good_frames_all_arrive(messages):
    data = b"".join(frames.to_line(frames.pack(message)) for message in messages)
    assert [event.message for event in feed_all([data])] == messages


def test_memory_is_bounded():
    decoder = Decoder()
    for _ in range(1000):
        assert decoder.feed(b"\x55" * 1000) == []
        assert len(decoder._part) < frames.LONGEST_LINE
    assert decoder.feed(b"\0") == [Rejected("long", 1_000_000)]

from hypothesis import given
from hypothesis import strategies as st

from rockboard.channel import Channel
from rockwire import frames, wire
from rockwire import messages as m
from rockwire.units import HALF_THOU, HUNDREDTH_MM


class Store:
    """Takes records while it has room."""

    def __init__(self):
        self.records = []
        self.room = True

    def __call__(self, message):
        if self.room:
            self.records.append(message)
        return self.room

    def of(self, kind):
        return [record for record in self.records if isinstance(record, kind)]


def test_batches_wait_at_most_their_time():
    store = Store()
    channel = Channel(0, store)
    channel.reading(1_000, 5, HALF_THOU)
    channel.poll(200_999)
    assert store.records == []
    channel.poll(201_000)
    assert store.records == [m.Readings(0, HALF_THOU, (1_000,), (5,))]


@given(st.lists(st.tuples(st.integers(0, 1 << 31), st.integers(-(1 << 31), (1 << 31) - 1))))
def test_no_reading_is_lost_however_wild_and_every_batch_fits(steps):
    store = Store()
    channel = Channel(0, store)
    t_us, expected = 0, []
    for step, count in steps:
        t_us += step
        channel.reading(t_us, count, HALF_THOU)
        expected.append((t_us, count))
    channel.flush()
    got = [pair for batch in store.records for pair in zip(batch.t_us, batch.count, strict=True)]
    assert got == expected
    assert all(len(wire.encode(b)) <= frames.LONGEST_RECORD_PAYLOAD for b in store.records)


def test_says_exactly_what_found_no_room():
    store = Store()
    channel = Channel(3, store)
    channel.reading(0, 1, HALF_THOU)
    channel.flush()
    store.room = False
    for t_us in (10, 20, 30):
        channel.reading(t_us, 2, HALF_THOU)
        channel.flush()
    store.room = True
    channel.reading(40, 3, HALF_THOU)
    channel.flush()
    assert store.records[1:] == [
        m.Dropped(3, 3, 10, 30),
        m.Readings(3, HALF_THOU, (40,), (3,)),
    ]
    assert channel.dropped == 3


def test_what_is_missing_at_the_end_is_told_too():
    store = Store()
    channel = Channel(0, store)
    store.room = False
    channel.reading(7, 1, HALF_THOU)
    channel.flush()
    store.room = True
    channel.finish()
    assert store.of(m.Dropped) == [m.Dropped(0, 1, 7, 7)]


def test_a_changed_unit_begins_a_new_batch_and_new_extremes():
    store = Store()
    channel = Channel(0, store)
    channel.reading(0, 8, HALF_THOU)
    channel.reading(1, 10, HUNDREDTH_MM)
    channel.finish()
    assert store.records == [
        m.Readings(0, HALF_THOU, (0,), (8,)),
        m.Extremes(0, HALF_THOU, 8, 0, 8, 0, 1),
        m.Event(m.UNIT_CHANGED, 0, 1, HUNDREDTH_MM.unit),
        m.Readings(0, HUNDREDTH_MM, (1,), (10,)),
        m.Extremes(0, HUNDREDTH_MM, 10, 1, 10, 1, 1),
    ]


def test_running_minimum_and_maximum():
    channel = Channel(0, Store())
    for t_us, count in enumerate((4, -2, 9, 9, -2)):
        channel.reading(t_us, count, HALF_THOU)
    assert channel.extremes == m.Extremes(0, HALF_THOU, -2, 1, 9, 2, 5)


def test_readings_before_an_event_stand_before_it():
    store = Store()
    channel = Channel(0, store)
    channel.reading(5, 1, HALF_THOU)
    channel.event(m.FRAME_CUT, 9, 12)
    assert [type(record) for record in store.records] == [m.Readings, m.Event]

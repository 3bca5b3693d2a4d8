from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.receiver import GAP, REPEAT, STRANGE, TAKE, Receiver

NONCE = bytes(range(16))


def history(count, nonce=NONCE):
    chain = Chain(nonce)
    made = []
    for number in range(count):
        body = frames.record_body(m.Event(0, 255, number, 0), number)
        made.append(frames.unpack(frames.pack_record(body, chain.extend(body))))
    return made


def test_takes_each_record_once_and_in_order():
    first, second, third = history(3)
    receiver = Receiver(NONCE)
    assert receiver.judge(second) == GAP
    assert receiver.judge(first) == TAKE
    receiver.take(first)
    assert receiver.judge(first) == REPEAT
    assert receiver.judge(third) == GAP
    assert receiver.judge(second) == TAKE
    assert receiver.next_number == 1


def test_knows_another_history_by_its_tag():
    receiver = Receiver(NONCE)
    assert receiver.judge(history(1, bytes(16))[0]) == STRANGE


def test_damage_that_the_crc_misses_is_still_seen():
    # A frame changed and given a right CRC: one in 65536 damaged frames looks like that.
    frame = history(1)[0]
    body = bytearray(frames.body_of(frame.packet))
    body[-1] ^= 1
    forged = frames.unpack(frames.pack_record(bytes(body), frame.tag))
    assert Receiver(NONCE).judge(forged) == STRANGE

from rockhold.record.conversation import Answer, Conversation, Damage, Record
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.decoder import Decoder
from rockwire.receiver import Receiver

NONCE = bytes(range(16))


def history(count):
    chain = Chain(NONCE)
    lines = []
    for number in range(count):
        body = frames.record_body(m.Event(0, 255, number, 0), number)
        lines.append(frames.to_line(frames.pack_record(body, chain.extend(body))))
    return lines


def sent(talk):
    return [frame.message for frame in Decoder().feed(talk.take_outgoing())]


def reply(message):
    return frames.to_line(frames.pack(message))


def test_a_request_is_repeated_until_answered():
    talk = Conversation(Receiver(NONCE))
    talk.ask(m.Hello, 0)
    (hello,) = sent(talk)
    assert list(talk.pass_time(400_000)) == []
    assert sent(talk) == []
    assert list(talk.pass_time(600_000)) == []
    assert sent(talk) == [hello]
    done = m.Ident(hello.request, 1, bytes(3), bytes(8), bytes(32), 0, NONCE, 0, "x")
    assert list(talk.feed(reply(done), 700_000)) == [Answer(hello, done, 600_000, 700_000)]
    assert list(talk.feed(reply(done), 800_000)) == []
    assert list(talk.pass_time(90_000_000)) == []


def test_a_late_answer_to_an_earlier_conversation_does_not_pass_for_one_to_this():
    talk = Conversation(Receiver(NONCE))
    talk.ask(m.Hello, 0)
    (hello,) = sent(talk)
    assert list(talk.feed(reply(m.Done(hello.request, 0)), 1_000)) == []
    later = Conversation(Receiver(NONCE))
    later.ask(m.Hello, 700_000)
    assert sent(later)[0].request != hello.request


def test_a_conversation_right_after_another_has_numbers_of_its_own():
    # A greeting takes about a millisecond and may ask for records, too: the refusal of that must
    # not pass for one of what the next conversation asks.
    talk, later = Conversation(Receiver(NONCE)), Conversation(Receiver(NONCE))
    for kind in (m.Hello, m.Status, m.Clock):
        talk.ask(kind, 500_000, *((0,) if kind is m.Clock else ()))
    later.ask(m.Hello, 501_000)
    earlier = {message.request for message in sent(talk)}
    assert len(earlier) == 3
    assert sent(later)[0].request not in earlier


def test_a_request_that_nobody_answers_is_given_up():
    talk = Conversation(Receiver(NONCE), patience_s=2)
    talk.ask(m.Stop, 0)
    (stop,) = sent(talk)
    answers = [a for t in range(0, 3_000_000, 100_000) for a in talk.pass_time(t)]
    assert answers == [Answer(stop, None, answers[0].sent_us, answers[0].received_us)]


def test_records_are_acknowledged_only_when_stored():
    talk = Conversation(Receiver(NONCE))
    lines = history(2)
    events = list(talk.feed(lines[0] + lines[1], 0))
    assert [type(event) for event in events] == [Record, Record]
    assert sent(talk) == []
    talk.stored()
    assert sent(talk) == [m.Ack(NONCE[:4], 2)]


def test_a_repeat_is_acknowledged_again_and_not_handed_out():
    talk = Conversation(Receiver(NONCE))
    line = history(1)[0]
    assert len(list(talk.feed(line + line, 0))) == 1
    assert sent(talk) == [m.Ack(NONCE[:4], 1)]


def test_a_gap_is_asked_for_but_not_with_every_frame():
    talk = Conversation(Receiver(NONCE))
    lines = history(5)
    list(talk.feed(lines[0], 0))
    assert list(talk.feed(lines[2] + lines[3] + lines[4], 1_000)) == []
    (resume,) = sent(talk)
    assert (resume.nonce, resume.next_number) == (NONCE, 1)
    list(talk.feed(lines[1], 2_000))
    list(talk.feed(lines[3], 3_000))
    assert [r.next_number for r in sent(talk)] == [2]


def test_damage_is_told_and_the_rest_goes_on():
    talk = Conversation(Receiver(NONCE))
    events = list(talk.feed(b"\x05abc\0" + history(1)[0], 0))
    assert events[0] == Damage("cobs", 4)
    assert isinstance(events[1], Record)


def test_another_history_at_our_number_is_damage_not_a_record():
    talk = Conversation(Receiver(NONCE))
    list(talk.feed(history(1)[0], 0))
    body = frames.record_body(m.Event(0, 255, 99, 0), 1)
    strange = frames.to_line(frames.pack_record(body, b"\1\2\3\4"))
    (event,) = talk.feed(strange, 0)
    assert event.reason == "chain"


def test_the_rest_of_an_earlier_capture_before_our_start_is_passed_over():
    talk = Conversation(Receiver(bytes(16)))
    assert list(talk.feed(history(1)[0], 0)) == []

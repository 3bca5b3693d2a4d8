"""The host's side of a conversation with a board: bytes in, events out, bytes to send.

It knows no port, no clock and no file. The caller feeds it what came, stores the records that it
hands out, and then calls `stored`, which is what makes it acknowledge them.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from rockhold.links.base import Guarding
from rockwire import frames
from rockwire import messages as m
from rockwire.decoder import Decoder, Rejected
from rockwire.receiver import GAP, REPEAT, TAKE, Receiver

_TRIES = 10  # a request is sent about this often before it is given up
_NUMBER_US = 50  # a conversation asks more seldom, so the next one's numbers lie beyond its own
_ASK_AGAIN_S = 0.3  # at most one Resume in this time


_ANSWERS: dict[type, type] = {
    m.Hello: m.Ident,
    m.Start: m.Done,
    m.Stop: m.Done,
    m.Button: m.Done,
    m.Resume: m.Done,
    m.Clock: m.ClockReply,
    m.Status: m.StatusReply,
}


@dataclass(frozen=True, slots=True)
class Record:
    """A record to store: the next of the capture.

    Attributes:
        frame: The frame; its `packet` is what goes into the file.
    """

    frame: frames.Frame


@dataclass(frozen=True, slots=True)
class Answer:
    """A board's answer to a request.

    Attributes:
        command: The message that was sent.
        reply: The message that came back; None when none came in time.
        sent_us: Host time when the command was last sent.
        received_us: Host time when the answer came.
    """

    command: tuple[object, ...]
    reply: tuple[object, ...] | None
    sent_us: int
    received_us: int


@dataclass(frozen=True, slots=True)
class Damage:
    """Bytes on the line that were no frame.

    Attributes:
        reason: What was wrong with them, one word.
        skipped: How many bytes were given up.
    """

    reason: str
    skipped: int


@dataclass(slots=True)
class _Pending:
    command: tuple[object, ...]
    first_us: int
    sent_us: int


class Conversation:
    """One host talking to one board about one capture.

    Args:
        receiver: What the host has of the capture.
        patience_s: A request without an answer is given up after this long.
        guard: What commands need on a link that strangers can reach; None for a cable.
    """

    def __init__(
        self, receiver: Receiver, patience_s: float = 5.0, guard: Guarding | None = None
    ) -> None:
        self._guard = guard
        self._patience_us = patience_s * 1e6
        self.receiver = receiver
        self._decoder = Decoder()
        self._outgoing = bytearray(b"\x00")  # ends whatever stood half-sent on the line
        self._pending: dict[int, _Pending] = {}
        self._request: int | None = None
        self._asked_again_us: int | None = None

    def ask(self, make: Callable[..., tuple[object, ...]], now_us: int, *fields: object) -> None:
        """Send a command; it is repeated until it is answered or given up.

        Args:
            make: The message class, whose first field is the number of the request.
            now_us: Host time.
            fields: The other fields.
        """
        # A late answer to an earlier conversation must not pass for one to this: begin elsewhere.
        before = now_us // _NUMBER_US if self._request is None else self._request
        self._request = (before + 1) % 0x10000
        command = make(self._request, *fields)
        self._pending[self._request] = _Pending(command, now_us, now_us)
        self._send(command)

    def feed(self, data: bytes, now_us: int) -> Iterator[Record | Answer | Damage]:
        """Take bytes that came and yield what they mean, in order."""
        for event in self._decoder.feed(data):
            if isinstance(event, Rejected):
                yield Damage(event.reason, event.skipped)
            elif event.number is not None:
                yield from self._record(event, now_us)
            elif event.message is not None:
                yield from self._answer(event.message, now_us)

    def stored(self) -> None:
        """Acknowledge every record handed out so far: all of them are on disk now."""
        self._send(m.Ack(self.receiver.nonce[:4], self.receiver.next_number))

    def pass_time(self, now_us: int) -> Iterator[Answer]:
        """Repeat what was not answered; yield an Answer without reply for what is given up."""
        for number, pending in list(self._pending.items()):
            if now_us - pending.first_us > self._patience_us:
                del self._pending[number]
                yield Answer(pending.command, None, pending.sent_us, now_us)
            elif now_us - pending.sent_us > self._patience_us / _TRIES:
                pending.sent_us = now_us
                self._send(pending.command)

    def take_outgoing(self) -> bytes:
        """Return the bytes to send, once."""
        data = bytes(self._outgoing)
        self._outgoing.clear()
        return data

    def _record(self, frame: frames.Frame, now_us: int) -> Iterator[Record | Damage]:
        verdict = self.receiver.judge(frame)
        if verdict == TAKE:
            self.receiver.take(frame)
            self._asked_again_us = None
            self._forget_start()
            yield Record(frame)
        elif verdict == REPEAT:
            self.stored()
        elif verdict == GAP:
            self._ask_again(now_us)
        elif self.receiver.next_number:
            # Our next number, but not our history: damage that the CRC did not see, or another
            # capture. At number 0 it is the rest of an earlier capture, from before our Start.
            yield Damage("chain", len(frame.packet))
            self._ask_again(now_us)

    def _forget_start(self) -> None:
        # A record proves that it was obeyed. Repeated to a board that was reset meanwhile, it would
        # begin a second capture of the same nonce.
        started = [k for k, v in self._pending.items() if isinstance(v.command, m.Start)]
        for number in started:
            del self._pending[number]

    def _ask_again(self, now_us: int) -> None:
        last = self._asked_again_us
        if last is None or now_us - last > _ASK_AGAIN_S * 1e6:
            self._asked_again_us = now_us
            self.ask(m.Resume, now_us, self.receiver.nonce, self.receiver.next_number)

    def _answer(self, message: tuple[object, ...], now_us: int) -> Iterator[Answer]:
        number = message[0]
        pending = self._pending.get(number) if isinstance(number, int) else None
        if isinstance(message, m.Stale) and self._guard is not None:
            self._guard.learn(message)
            if pending is not None:
                self._send(pending.command)
            return
        if pending is None or not _answers(message, pending.command):
            return
        self._pending = {k: v for k, v in self._pending.items() if v is not pending}
        if not self._outdated(pending.command):
            yield Answer(pending.command, message, pending.sent_us, now_us)

    def _outdated(self, command: tuple[object, ...]) -> bool:
        # A Resume that was repeated because its answer was damaged may reach the board after the
        # records that it asked for were acknowledged; the board then cannot know that number.
        return isinstance(command, m.Resume) and command.next_number < self.receiver.next_number

    def _send(self, message: tuple[object, ...]) -> None:
        if self._guard is not None:
            message = self._guard.wrap(message)
        self._outgoing += frames.to_line(frames.pack(message))


def _answers(message: tuple[object, ...], command: tuple[object, ...]) -> bool:
    # "Not allowed" answers whatever the board's guard does not let through.
    if isinstance(message, m.Done) and message.result == m.NOT_ALLOWED:
        return True
    return isinstance(message, _ANSWERS.get(type(command), tuple))

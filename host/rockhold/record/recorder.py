"""Records a capture: moves bytes between a board and a file until the board has closed it."""

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import LinkLostError, NoBoardError
from rockhold.links.base import Link
from rockhold.record.conversation import Answer, Conversation, Damage, Record
from rockwire import frames
from rockwire import messages as m

_Reply = TypeVar("_Reply", bound=tuple[object, ...])

_READ_S = 0.05
_GREETING_S = 2.0  # a board that is there answers within milliseconds
_CLOCK_EVERY_S = 5.0
_HISTORY_LIMIT = 20  # records in a row that belong to another history


def host_us() -> int:
    """Return a clock of this computer that never jumps, in µs."""
    return time.monotonic_ns() // 1000


def utc_us() -> int:
    """Return the computer's idea of UTC, in µs since 1970."""
    return time.time_ns() // 1000


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a recording ended.

    Attributes:
        reason: What closed it: "host", "button", "no room" or "battery".
        records: How many records the capture holds.
        board_sealed: Whether the board signed it.
    """

    reason: str
    records: int
    board_sealed: bool


def greet(link: Link) -> m.Ident:
    """Ask the board on a link who it is.

    Raises:
        NoBoardError: When nothing answers, or what answers is no board of ours.
    """
    return _ask_once(link, m.Hello, m.Ident)


def end_other(link: Link) -> None:
    """Make the board close the capture that it is recording for somebody else."""
    _ask_once(link, m.Stop, m.Done)


def _ask_once(
    link: Link, command: Callable[..., tuple[object, ...]], reply: type[_Reply]
) -> _Reply:
    talk = Conversation(bytes(m.NONCE_SIZE), _GREETING_S)
    talk.ask(command, host_us())
    damage = 0
    while True:
        link.write(talk.take_outgoing())
        for event in talk.feed(link.read(_READ_S), host_us()):
            if isinstance(event, Answer) and isinstance(event.reply, reply):
                return event.reply
            damage += isinstance(event, Damage)
        if any(True for _ in talk.pass_time(host_us())):
            heard = (
                "something answers, but not as a rockhold board" if damage else "nothing answers"
            )
            raise NoBoardError(
                f"{heard} on {link.name}. Check that the board has power and its program, or name "
                "another port with --port"
            )


class Recorder:
    """One capture being recorded.

    Args:
        link: The way to the board.
        writer: Where the capture goes; its header is written already.
        nonce: The capture's nonce.
        watch: Called with every message of the board as it is stored.
    """

    def __init__(
        self,
        link: Link,
        writer: CaptureWriter,
        nonce: bytes,
        watch: Callable[[tuple[object, ...]], None],
    ) -> None:
        self._link = link
        self._writer = writer
        self._watch = watch
        self._talk = Conversation(nonce)
        self._nonce = nonce
        self._next_clock_us = 0
        self._strange = 0
        self._damage: list[Damage] = []
        self._with_seal = False
        self._close: m.Close | None = None
        self._sealed = False

    def run(self, with_seal: bool, stop: Callable[[], bool]) -> Outcome:
        """Record until the board closes the capture.

        Args:
            with_seal: Whether the board has a key, so that a seal follows the close.
            stop: Asked many times a second; once True, the board is told to close.

        Raises:
            LinkLostError: When the board goes away; the capture ends with a note.
            CaptureWriteError: When the disk refuses.
            NoBoardError: When the board does not start.
        """
        self._with_seal = with_seal
        try:
            return self._run(stop)
        except LinkLostError as error:
            self._note("link_lost", because=str(error))
            raise
        except KeyboardInterrupt:
            self._note("interrupted")
            self._talk.ask(m.Stop, host_us())
            self._link.write(self._talk.take_outgoing())
            raise

    def _run(self, stop: Callable[[], bool]) -> Outcome:
        self._talk.ask(m.Start, host_us(), self._nonce, utc_us())
        stopping = False
        while not self._complete():
            if not stopping and self._talk.receiver.next_number and stop():
                stopping = True
                self._talk.ask(m.Stop, host_us())
            self._exchange()
        self._tell_damage()
        assert self._close is not None
        reason = m.REASONS.get(self._close.reason, "unknown")
        return Outcome(reason, self._talk.receiver.next_number, self._sealed)

    def _complete(self) -> bool:
        return self._close is not None and self._sealed >= self._with_seal

    def _exchange(self) -> None:
        now_us = host_us()
        if now_us >= self._next_clock_us:
            self._next_clock_us = now_us + int(_CLOCK_EVERY_S * 1e6)
            self._talk.ask(m.Clock, now_us, now_us)
            self._tell_damage()
        self._link.write(self._talk.take_outgoing())
        data = self._link.read(_READ_S)
        records = [event.frame for event in self._sort(data) if isinstance(event, Record)]
        if records:
            self._store(records)
        for answer in self._talk.pass_time(host_us()):
            self._obey_answer(answer)

    def _sort(self, data: bytes) -> Iterator[Record]:
        for event in self._talk.feed(data, host_us()):
            if isinstance(event, Record):
                self._strange = 0
                yield event
            elif isinstance(event, Damage):
                self._suffer(event)
            else:
                self._obey_answer(event)

    def _store(self, records: list[frames.Frame]) -> None:
        now = utc_us()
        for frame in records:
            self._writer.record(frame.packet, now)
        self._writer.sync()
        self._talk.stored()
        self._link.write(self._talk.take_outgoing())
        for frame in records:
            if isinstance(frame.message, m.Close):
                self._close = frame.message
            self._sealed |= isinstance(frame.message, m.Seal)
            if frame.message is not None:
                self._watch(frame.message)

    def _suffer(self, damage: Damage) -> None:
        self._damage.append(damage)
        self._strange += damage.reason == "chain"
        if self._strange > _HISTORY_LIMIT:
            raise LinkLostError(
                f"the board on {self._link.name} sends records of another history than the one on "
                "disk: it was reset, or is another board. Record again into a new file"
            )

    def _tell_damage(self) -> None:
        # One note for many: a noisy line must not fill the disk.
        if self._damage:
            reasons = sorted({damage.reason for damage in self._damage})
            skipped = sum(damage.skipped for damage in self._damage)
            self._note(
                "line_damage", pieces=len(self._damage), reasons=reasons, skipped_bytes=skipped
            )
            self._damage.clear()

    def _obey_answer(self, answer: Answer) -> None:
        command, reply = answer.command, answer.reply
        if isinstance(reply, m.ClockReply):
            self._writer.append(_clock_line(answer, reply))
        elif reply is None:
            raise LinkLostError(
                f"the board on {self._link.name} stopped answering. Check the cable and the "
                "board's power, then record again"
            )
        elif isinstance(command, m.Start) and isinstance(reply, m.Done) and reply.result:
            raise NoBoardError(
                f"the board on {self._link.name} does not start: {m.RESULTS[reply.result]}. "
                "End that capture with the board's button, or with `rockhold record --end-other`"
            )
        elif isinstance(command, m.Resume) and isinstance(reply, m.Done) and reply.result:
            raise LinkLostError(
                f"the board on {self._link.name} does not know this capture any more: it was "
                "reset. Record again into a new file"
            )

    def _note(self, what: str, **facts: object) -> None:
        self._writer.note(what, utc_us(), **facts)


def _clock_line(answer: Answer, reply: m.ClockReply) -> Mapping[str, object]:
    return {
        "clock": {
            "host_sent_us": answer.sent_us,
            "board_us": reply.board_us,
            "host_received_us": answer.received_us,
        }
    }

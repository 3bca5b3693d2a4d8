"""Moves a capture from the board to the disk over one link, until the board has closed it.

A record is written and on disk before it is acknowledged. When the link breaks, `run` raises and
may be called again with another link: the board goes on from what is on disk.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import BoardChangedError
from rockhold.links.base import Guarding, Link
from rockhold.record.conversation import Answer, Conversation, Damage, Record
from rockhold.record.hosttime import HostTime
from rockhold.record.troubles import lost_words, reset_error, trouble_in
from rockwire import frames
from rockwire import messages as m
from rockwire.receiver import Receiver

_READ_S = 0.05
_CLOCK_EVERY_US = 5_000_000
_STATUS_EVERY_US = 5_000_000
BY_HOST = m.REASONS[m.BY_HOST]
_HISTORY_LIMIT = 20  # records in a row that belong to another history


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


class Recorder:
    """One capture being recorded.

    Args:
        writer: Where the capture goes; its header is written already.
        receiver: What of the capture is on disk already.
        watch: Called with every message of the board as it is stored, and with its status.
        host: The host's clocks.
        with_seal: Whether the board has a key, so that a seal follows the close.
    """

    def __init__(
        self,
        writer: CaptureWriter,
        receiver: Receiver,
        watch: Callable[[tuple[object, ...]], None],
        host: HostTime,
        with_seal: bool,
    ) -> None:
        self._writer = writer
        self._receiver = receiver
        self._watch = watch
        self._host = host
        self._with_seal = with_seal
        self._close: m.Close | None = None
        self._sealed = self._unsigned = False
        self._begin_on_link(None)

    def _begin_on_link(self, guard: Guarding | None) -> None:
        self._talk = Conversation(self._receiver, guard=guard)
        self._next_clock_us = self._next_status_us = 0
        self._strange = 0
        self._damage: list[Damage] = []

    def recall(self, message: tuple[object, ...] | None) -> None:
        """Take note of a message that is on disk."""
        if isinstance(message, m.Close):
            self._close = message
        self._sealed |= isinstance(message, m.Seal)

    def run(self, link: Link, stop: Callable[[], bool]) -> Outcome:
        """Record over a link until the board closes the capture.

        Args:
            link: The way to the board.
            stop: Asked many times a second; once True, the board is told to close.

        Raises:
            LinkLostError: When the link breaks; call again with another one.
            BoardChangedError: When the board does not know this capture any more.
            CaptureWriteError: When the disk refuses.
            NoBoardError: When the board does not start.
        """
        self._begin_on_link(link.guard)
        receiver = self._receiver
        if receiver.next_number:
            now_us = self._host.steady_us()
            self._talk.ask(m.Resume, now_us, receiver.nonce, receiver.next_number)
        stopping = False
        while not self._complete():
            if not stopping and receiver.next_number and stop():
                stopping = True
                self._talk.ask(m.Stop, self._host.steady_us())
            self._exchange(link)
        self._tell_damage()
        assert self._close is not None
        reason = m.REASONS.get(self._close.reason, "unknown")
        return Outcome(reason, self._receiver.next_number, self._sealed)

    def break_off(self, link: Link) -> None:
        """Tell the board to close the capture, without waiting for it."""
        self._talk.ask(m.Stop, self._host.steady_us())
        link.write(self._talk.take_outgoing())

    def is_known_to(self, board: m.Ident) -> bool:
        """Say whether a board can go on with this capture, or still begin it."""
        return not self._receiver.next_number or board.nonce == self._receiver.nonce

    def reset_error(self, where: str) -> BoardChangedError:
        """Return what is raised when the board on a link has lost this capture."""
        return reset_error(where, self._writer.path)

    def note(self, what: str, **facts: object) -> None:
        """Write something that was noticed into the capture."""
        self._writer.note(what, self._host.utc_us(), **facts)
        self._writer.sync()

    def enter(self, value: Mapping[str, object]) -> None:
        """Write what a person said or did into the capture; on disk when this returns."""
        self._writer.append({**value, "host_utc_us": self._host.utc_us()})
        self._writer.sync()

    def _complete(self) -> bool:
        return self._close is not None and (self._sealed >= self._with_seal or self._unsigned)

    def _exchange(self, link: Link) -> None:
        now_us = self._host.steady_us()
        if now_us >= self._next_clock_us:
            self._next_clock_us = now_us + _CLOCK_EVERY_US
            self._talk.ask(m.Clock, now_us, now_us)
            self._tell_damage()
        if now_us >= self._next_status_us:
            self._next_status_us = now_us + _STATUS_EVERY_US
            self._ask_how_it_stands(now_us)
        link.write(self._talk.take_outgoing())
        data = link.read(_READ_S)
        found = [event.frame for event in self._sort(data, link) if isinstance(event, Record)]
        if found:
            self._store(found)
            link.write(self._talk.take_outgoing())
        for answer in self._talk.pass_time(self._host.steady_us()):
            self._obey_answer(answer, link)

    def _ask_how_it_stands(self, now_us: int) -> None:
        """Ask for the status, which tells a reset; before the first record, start (once more).

        A board that has started takes a second Start for the first one come again; one that was
        reset after it had answered would else be waited for in vain.
        """
        if self._receiver.next_number:
            self._talk.ask(m.Status, now_us)
        else:
            self._talk.ask(m.Start, now_us, self._receiver.nonce, self._host.utc_us())

    def _sort(self, data: bytes, link: Link) -> Iterator[Record]:
        for event in self._talk.feed(data, self._host.steady_us()):
            if isinstance(event, Record):
                self._strange = 0
                yield event
            elif isinstance(event, Damage):
                self._suffer(event, link)
            else:
                self._obey_answer(event, link)

    def _store(self, found: list[frames.Frame]) -> None:
        now = self._host.utc_us()
        for frame in found:
            self._writer.record(frame.packet, now)
        self._writer.sync()
        self._talk.stored()
        for frame in found:
            self.recall(frame.message)
            if frame.message is not None:
                self._watch(frame.message)

    def _suffer(self, damage: Damage, link: Link) -> None:
        self._damage.append(damage)
        self._strange += damage.reason == "chain"
        if self._strange > _HISTORY_LIMIT:
            raise BoardChangedError(
                f"the board on {link.name} sends records of another history than the one on disk: "
                f"it was reset, or is another board. {lost_words(self._writer.path)}"
            )

    def _tell_damage(self) -> None:
        # One note for many: a noisy line must not fill the disk.
        if self._damage:
            reasons = sorted({damage.reason for damage in self._damage})
            skipped = sum(damage.skipped for damage in self._damage)
            self.note(
                "line_damage", pieces=len(self._damage), reasons=reasons, skipped_bytes=skipped
            )
            self._damage.clear()

    def _obey_answer(self, answer: Answer, link: Link) -> None:
        reply = answer.reply
        if isinstance(reply, m.ClockReply):
            self._writer.append(_clock_line(answer, reply, self._host.utc_us()))
            return
        begun = self._receiver.next_number > 0
        trouble = trouble_in(answer, link.name, self._writer.path, begun)
        if trouble is not None:
            raise trouble
        if isinstance(reply, m.StatusReply):
            # A board that found no room for the arithmetic of its signature sends none.
            told_all = reply.state == m.READY and reply.frames == self._receiver.next_number
            self._unsigned |= self._close is not None and told_all
            self._watch(reply)


def _clock_line(answer: Answer, reply: m.ClockReply, utc_us: int) -> Mapping[str, object]:
    return {
        "clock": {
            "host_sent_us": answer.sent_us,
            "board_us": reply.board_us,
            "host_received_us": answer.received_us,
            "host_utc_us": utc_us,
        }
    }

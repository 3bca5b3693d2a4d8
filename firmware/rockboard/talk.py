"""One link's conversation: bytes in, commands out; answers and records in, bytes out."""

from rockwire import frames
from rockwire.decoder import Decoder

MOST_ANSWERS = 8  # that wait to be sent; who asks faster than he listens asks again


class Talk:
    """What is under way on one link.

    Args:
        link: Gives `read()` (bytes or b"", never waits), `write(data)` (how many bytes it took,
            never waits) and `guard`, None for a cable. With a guard it has `visit`, which changes
            when another host is there.
        session: Answers commands and hands out records.
    """

    def __init__(self, link, session) -> None:
        self.link = link
        self._session = session
        self._visit = None
        self._begin()

    def _begin(self) -> None:
        self._decoder = Decoder()
        self._answers = []  # packets that go out before any record
        self._line = b""  # what is left of the line being sent

    @property
    def known(self) -> bool:
        """Whether who is there may have the records: on a cable anybody."""
        return self.link.guard is None or self.link.guard.known

    @property
    def idle(self) -> bool:
        """Whether every answer has left."""
        return not self._answers and not self._line

    def listen(self) -> bool:
        """Take what has come and obey it; return whether one who may have the records spoke."""
        heard = False
        data = self.link.read()
        if self.link.guard is not None and self.link.visit != self._visit:
            self._visit = self.link.visit
            self._begin()  # what was for the last host is not for this one
        if data:
            for event in self._decoder.feed(data):
                # Damage on the way to the board needs no answer: the host repeats a command whose
                # answer does not come.
                if isinstance(event, frames.Frame) and event.message is not None:
                    self._obey(event.message)
                    heard = self.known
        return heard

    def _obey(self, message) -> None:
        reply = self._session.answer(message, self.link.guard)
        if reply is not None and len(self._answers) < MOST_ANSWERS:
            self._answers.append(frames.pack(reply))

    def speak(self, with_records: bool) -> bool:
        """Send what the link takes; return whether it took anything."""
        if not self._line:
            self._line = self._next_line(with_records)
        taken = self.link.write(self._line) if self._line else 0
        self._line = self._line[taken:]
        return bool(taken)

    def _next_line(self, with_records: bool) -> bytes:
        if self._answers:
            return frames.to_line(self._answers.pop(0))
        packet = self._session.next_record() if with_records and self.known else None
        return frames.to_line(packet) if packet else b""

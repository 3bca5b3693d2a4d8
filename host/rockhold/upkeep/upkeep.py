"""Questions to a board about itself: one command, one answer, over any link."""

from collections.abc import Callable
from typing import TypeVar

from rockhold.errors import NoBoardError, UsageError
from rockhold.links.base import Link
from rockhold.record.conversation import Answer, Conversation
from rockhold.record.hosttime import ComputerTime, HostTime
from rockwire import messages as m
from rockwire import upkeep as u
from rockwire.receiver import Receiver
from rockwire.wire import MOST_DATA

_Reply = TypeVar("_Reply", bound=tuple[object, ...])

_READ_S = 0.05
_PATIENCE_S = 8.0  # looking through a full flash takes a board some seconds


class Refused(NoBoardError):  # noqa: N818 (an answer, told as a value where it is expected)
    """Report that the board answered with a result instead of what was asked for.

    Attributes:
        result: One of messages.RESULTS.
    """

    def __init__(self, message: str, result: int) -> None:
        super().__init__(message)
        self.result = result


class Upkeep:
    """Asks a board.

    Args:
        link: The way to it.
        host: The host's clocks.
        patience_s: How long to wait for an answer.
    """

    def __init__(
        self, link: Link, host: HostTime | None = None, patience_s: float = _PATIENCE_S
    ) -> None:
        self.link = link
        self.host = host or ComputerTime()
        self._talk = Conversation(Receiver(bytes(m.NONCE_SIZE)), patience_s, link.guard)

    def ask(
        self,
        reply: type[_Reply],
        command: Callable[..., tuple[object, ...]],
        *fields: object,
    ) -> _Reply:
        """Return the board's answer.

        Args:
            reply: The message that is expected.
            command: The message that is sent; its first field, the request, is filled in.
            fields: Its other fields.

        Raises:
            Refused: When the board answers with a result that is not "done".
            NoBoardError: When it does not answer.
        """
        return self.exchange(reply, command, *fields)[0]

    def exchange(
        self,
        reply: type[_Reply],
        command: Callable[..., tuple[object, ...]],
        *fields: object,
    ) -> tuple[_Reply, Answer]:
        """Return the board's answer, and when it was asked and came; raises as `ask` does."""
        self._talk.ask(command, self.host.steady_us(), *fields)
        while True:
            self.link.write(self._talk.take_outgoing())
            for event in self._talk.feed(self.link.read(_READ_S), self.host.steady_us()):
                # Records that still wait on the board may make the talk ask for them; that answer
                # is not ours.
                if isinstance(event, Answer) and type(event.command) is command:
                    if isinstance(event.reply, m.Done) and (
                        event.reply.result or reply is not m.Done
                    ):
                        raise self._refused(event.reply.result)
                    if isinstance(event.reply, reply):
                        return event.reply, event
            given_up = [answer.command for answer in self._talk.pass_time(self.host.steady_us())]
            if any(type(one) is command for one in given_up):
                raise NoBoardError(
                    f"the board on {self.link.name} does not answer this question. If its program "
                    "is older than this rockhold, put the new one on it: rockhold board setup"
                )

    def _refused(self, result: int) -> Refused:
        meaning = m.RESULTS.get(result, f"result {result}")
        return Refused(f"the board on {self.link.name} says no: {meaning}", result)

    def read_settings(self) -> str:
        """Return the settings on the board's flash, "" when there are none."""
        data = b""
        while True:
            part = self.ask(u.SettingsPart, u.GetSettings, len(data))
            data += part.data
            if len(data) >= part.total or not part.data:
                return str(data, "utf-8", "replace")

    def write_settings(self, text: str) -> str:
        """Store settings on the board and return what it says.

        Raises:
            UsageError: When the board does not take them; its own words say why.
        """
        data = text.encode()
        words = ""
        for offset in range(0, max(1, len(data)), MOST_DATA):
            part = data[offset : offset + MOST_DATA]
            told = self.ask(u.Told, u.PutSettings, len(data), offset, part)
            words = str(bytes(told.data), "utf-8", "replace")
            if told.result:
                raise UsageError(f"the board does not take these settings: {words}")
        return words

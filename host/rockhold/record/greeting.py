"""Short talks with a board outside a recording: who are you, end what you are doing."""

from collections.abc import Callable
from typing import TypeVar

from rockhold.errors import NoBoardError
from rockhold.links.base import Link
from rockhold.record.conversation import Answer, Conversation, Damage
from rockhold.record.hosttime import ComputerTime, HostTime
from rockwire import messages as m
from rockwire.receiver import Receiver

_Reply = TypeVar("_Reply", bound=tuple[object, ...])

_READ_S = 0.05
_PATIENCE_S = 2.0  # a board that is there answers within milliseconds


def greet(link: Link, host: HostTime | None = None) -> m.Ident:
    """Ask the board on a link who it is; over radio, also show it that this host has its key.

    Raises:
        NoBoardError: When nothing answers, what answers is no board of ours, or the board does not
            know this computer.
        LinkLostError: When the link breaks meanwhile.
    """
    host = host or ComputerTime()
    who = _ask_once(link, host, m.Hello, m.Ident)
    if link.guard is None:
        return who
    # Which key it is follows from who the board is; what it tells strangers is not all.
    link.guard.meet(who.board_id)
    return _ask_once(link, host, m.Hello, m.Ident)


def end_other(link: Link, host: HostTime | None = None) -> None:
    """Make the board close the capture that it is recording for somebody else."""
    _ask_once(link, host or ComputerTime(), m.Stop, m.Done)


def let_button_tell(link: Link, host: HostTime | None = None) -> bool:
    """Make a short press of the board's button tell instead of ending the capture.

    Says whether the board does so; one with an older program does not.
    """
    host = host or ComputerTime()
    try:
        return bool(_ask_once(link, host, m.Button, m.Done, 1).result == m.DONE)
    except NoBoardError:
        return False


def _ask_once(
    link: Link,
    host: HostTime,
    command: Callable[..., tuple[object, ...]],
    reply: type[_Reply],
    *fields: object,
) -> _Reply:
    talk = Conversation(Receiver(bytes(m.NONCE_SIZE)), _PATIENCE_S, link.guard)
    talk.ask(command, host.steady_us(), *fields)
    damage, heard = 0, 0
    while True:
        link.write(talk.take_outgoing())
        data = link.read(_READ_S)
        heard += len(data)
        for event in talk.feed(data, host.steady_us()):
            if isinstance(event, Answer) and isinstance(event.reply, reply):
                return event.reply
            if isinstance(event, Answer) and isinstance(event.reply, m.Done):
                raise NoBoardError(
                    f"the board on {link.name} does not obey this computer "
                    f"({m.RESULTS.get(event.reply.result, 'unknown result')}). Set it up again "
                    "over its cable: rockhold board setup"
                )
            damage += isinstance(event, Damage)
        if any(True for _ in talk.pass_time(host.steady_us())):
            raise NoBoardError(_nobody(link.name, bool(heard or damage)))


def _nobody(name: str, heard: bool) -> str:
    """Return the sentence about a port without a board of ours, with what to do."""
    if heard:
        return (
            f"what speaks on {name} is no rockhold board: another instrument, or a board with "
            "another program. Name another port with --port, or put the program on it: "
            "rockhold board setup"
        )
    return (
        f"nothing answers on {name}. Check that the board has power and its program, or name "
        "another port with --port"
    )

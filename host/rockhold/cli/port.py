"""Finding the board that a command is about, on a cable or over radio."""

import contextlib
from collections.abc import Callable
from typing import Self

from rockhold.errors import LinkError, NoBoardError
from rockhold.evidence.keys import home
from rockhold.links.base import Link
from rockhold.links.serial_port import SerialLink, find_ports
from rockhold.record.greeting import greet
from rockhold.record.radiokeys import RadioGuard
from rockwire import messages as m

RADIO_KEYS = "radio"  # folder of the home
_LISTEN_S = 8.0
_LISTEN_AGAIN_S = 2.0


def open_board(port: str | None) -> SerialLink:
    """Return a link to the board on a port, or to the only board that answers.

    Raises:
        NoBoardError: When there is none, or more than one; says what was tried.
    """
    return SerialLink(port) if port else _answering(None)[0]


def _answering(board_id: bytes | None) -> tuple[SerialLink, m.Ident]:
    """Return the board of this id on whichever port it is; without one, the only one there is.

    Raises:
        NoBoardError: When it is not there, or nobody can tell which one is meant.
    """
    found: list[tuple[SerialLink, m.Ident]] = []
    reasons = []
    for place in find_ports():
        try:
            link = SerialLink(place.device)
        except LinkError as error:
            reasons.append(str(error))
            continue
        try:
            board = greet(link)
        except LinkError as error:
            link.close()
            reasons.append(str(error))
            continue
        if board_id is None or board.board_id == board_id:
            found.append((link, board))
        else:
            link.close()
    if len(found) == 1:
        return found[0]
    for link, _ in found:
        link.close()
    if found:
        names = ", ".join(f'{link.name} "{board.name}"' for link, board in found)
        raise NoBoardError(f"{len(found)} boards answer: {names}. Say which one with --port")
    detail = f" ({'; '.join(reasons)})" if reasons else ""
    raise NoBoardError(
        f"no board found{detail}. Plug it in; `rockhold boards` lists what is there, --port names "
        "one, --radio NAME one that is not on a cable"
    )


class CableWay:
    """Opens a link to one board on a cable: the only one at first, later the same one again.

    Args:
        port: Its port; None for wherever it is.
    """

    def __init__(self, port: str | None) -> None:
        self._port = port
        self._board_id: bytes | None = None

    def __call__(self) -> Link:
        """Open a link.

        Raises:
            NoBoardError: When the board is not to be found.
        """
        if self._port:
            return SerialLink(self._port)
        link, board = _answering(self._board_id)
        self._board_id = board.board_id
        return link


class FoundFirst:
    """A way to a board that is looked for before a person is asked for anything.

    The link that found it is kept for whoever opens the way next, and closed at the end if nobody
    did.

    Args:
        way: Opens a link to the board.
    """

    def __init__(self, way: Callable[[], Link]) -> None:
        self._way = way
        self._link: Link | None = None

    def look(self) -> tuple[str, m.Ident]:
        """Find the board; return where it is and what it says of itself.

        Raises:
            LinkError: When there is none.
        """
        self._link = self._way()
        return self._link.name, greet(self._link)

    def __call__(self) -> Link:
        """Return the link that found the board, at first; later a new one."""
        link, self._link = self._link, None
        return link or self._way()

    def __enter__(self) -> Self:
        """Return the way."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of a link that nobody took."""
        if self._link is not None:
            self._link.close()


class RadioWay:
    """Opens a link to one board: over radio at first, later over whichever way it is there.

    A capture that began over radio so goes on over the cable when somebody plugs the board in.

    Args:
        wanted: The board's name, radio address or id.
        port: A serial port where it may be, too.
    """

    def __init__(self, wanted: str, port: str | None = None) -> None:
        self._wanted = wanted
        self._port = port
        self._board_id = ""
        self._other_ports = {place.device for place in find_ports()}

    def __call__(self) -> Link:
        """Open a link.

        Raises:
            NoBoardError: When the board is not to be found.
        """
        # The radio's library takes time to load, and may be missing.
        from rockhold.links.ble import BleLink
        from rockhold.links.radio_scan import find

        if self._board_id:
            with contextlib.suppress(LinkError):
                return self._plugged_in()
            board = find(self._board_id, _LISTEN_AGAIN_S)
        else:
            board = find(self._wanted, _LISTEN_S)
        link = BleLink(board, RadioGuard(home() / RADIO_KEYS))
        self._board_id = board.board_id
        return link

    def _plugged_in(self) -> Link:
        """Return a link over a cable that was not there at first; other devices are left alone."""
        ports = [self._port] if self._port else []
        ports += [place.device for place in find_ports() if place.device not in self._other_ports]
        for port in ports:
            with contextlib.suppress(LinkError):
                link = SerialLink(port)
                with contextlib.suppress(LinkError):
                    if greet(link).board_id.hex() == self._board_id:
                        return link
                link.close()
        raise NoBoardError("the board is not on a cable")

"""Finding the board that a command is about."""

from rockhold.errors import LinkError, NoBoardError
from rockhold.links.serial_port import SerialLink, find_ports
from rockhold.record.greeting import greet


def open_board(port: str | None) -> SerialLink:
    """Return a link to the board on a port, or to the first board that answers.

    Raises:
        NoBoardError: When there is none; says what was tried.
    """
    if port:
        return SerialLink(port)
    reasons = []
    for place in find_ports():
        try:
            link = SerialLink(place.device)
        except LinkError as error:
            reasons.append(str(error))
            continue
        try:
            greet(link)
            return link
        except LinkError as error:
            link.close()
            reasons.append(str(error))
    detail = f" ({'; '.join(reasons)})" if reasons else ""
    raise NoBoardError(
        f"no board found{detail}. Plug it in; `rockhold boards` lists what is there, --port names "
        "one"
    )

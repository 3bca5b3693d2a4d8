"""How a recording reaches its board, and who is told what happens."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from rockhold.links.base import Link


@dataclass(frozen=True, slots=True)
class Ways:
    """How to reach the board, and how long to try.

    Attributes:
        open: Opens a link to the board; raises LinkError when it cannot.
        wait_s: How long a lost board is waited for.
        may_end_other: Whether a capture that the board still records for another may be ended.
        button_tells: Whether a short press of the board's button shall tell, not end the capture.
    """

    open: Callable[[], Link]
    wait_s: float = 30.0
    may_end_other: bool = False
    button_tells: bool = False


Enter = Callable[[Mapping[str, object]], None]


@dataclass(frozen=True, slots=True)
class Onlooker:
    """Who is told what happens.

    Attributes:
        stored: Called with every message of the board as it is stored.
        stop: Asked many times a second; once True, the board is told to close.
        say: Called with a sentence when the link is lost or comes back.
        linked: Called with the name of the link that is in use, "" when there is none.
        opened: Called once with the function that writes an entry into the capture.
    """

    stored: Callable[[tuple[object, ...]], None]
    stop: Callable[[], bool]
    say: Callable[[str], None] = lambda text: None
    linked: Callable[[str], None] = lambda name: None
    opened: Callable[[Enter], None] = lambda enter: None

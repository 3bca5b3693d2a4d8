"""The keys of boards' radios on this computer, and the counter of what was sent with each.

<folder>/<board id>.key       64 hexadecimal digits, agreed over the cable at set-up
<folder>/<board id>.counter   no command will have a counter that is not greater than this
"""

import contextlib
from collections.abc import Callable
from pathlib import Path

from rockhold.errors import KeyStoreError, NoBoardError
from rockhold.files import write_whole
from rockhold.record.hosttime import ComputerTime
from rockwire import messages as m
from rockwire.guard import KEY_SIZE, Wrapper

# Written once for so many steps of the counter, which are µs: about once a minute.
_RESERVE = 1 << 26

# A board's word for its counter carries no MAC. Nobody shall talk a host into spending the counter,
# after which the board would obey no one; this is far beyond any clock and leaves as much again.
FURTHEST = 1 << 63


class RadioGuard:
    """Guards the commands on one link; see links/base.py.

    Args:
        folder: Where the keys are; it need not exist.
        utc_us: The computer's UTC in µs.
    """

    def __init__(self, folder: Path, utc_us: Callable[[], int] | None = None) -> None:
        self._folder = folder
        self._utc_us = utc_us or ComputerTime().utc_us
        self._wrapper: Wrapper | None = None
        self._kept = 0
        self._floor = 0

    def meet(self, board_id: bytes) -> None:
        """Take the key that belongs to a board.

        Raises:
            NoBoardError: When there is none here.
            KeyStoreError: When it cannot be read.
        """
        path = self._folder / f"{board_id.hex()}.key"
        try:
            key = bytes.fromhex(path.read_text(encoding="ascii"))
        except FileNotFoundError as error:
            raise NoBoardError(
                f"this computer has no radio key for the board {board_id.hex()}. Connect the board "
                "with its cable and set it up here (rockhold board setup), or record over the cable"
            ) from error
        except (OSError, ValueError) as error:
            raise KeyStoreError(f"the radio key in {path} cannot be read: {error}") from error
        if len(key) != KEY_SIZE:
            raise KeyStoreError(
                f"the radio key in {path} has {len(key)} bytes, not {KEY_SIZE}. Set the board up "
                "again: rockhold board setup"
            )
        self._counter_path = path.with_suffix(".counter")
        self._kept = self._floor = _stored(self._counter_path)
        self._wrapper = Wrapper(key, board_id, self._next)

    def wrap(self, message: tuple[object, ...]) -> tuple[object, ...]:
        """Return a command as it must be sent; a Hello is wrapped, too, to make this host known."""
        if self._wrapper is None:
            return message
        if isinstance(message, m.Hello):
            return self._wrapper.enclose(message)
        return self._wrapper.wrap(message)

    def learn(self, stale: tuple[object, ...]) -> None:
        """Take the board's word that it is further.

        Raises:
            NoBoardError: When it is further than any clock can be.
        """
        assert isinstance(stale, m.Stale)
        if stale.counter >= FURTHEST:
            raise NoBoardError(
                "the board says that its radio's counter is used up, or a stranger says so. Set it "
                "up again over its cable: rockhold board setup"
            )
        if self._wrapper is not None:
            self._wrapper.learn(stale)
            self._floor = max(self._floor, stale.counter)

    def _next(self) -> int:
        counter = max(self._utc_us(), self._floor + 1)
        self._floor = counter
        if counter > self._kept:
            self._kept = counter + _RESERVE
            # The board itself takes no counter twice, so a folder that cannot be written to costs
            # one question more and must not cost the recording.
            with contextlib.suppress(OSError):
                write_whole(self._counter_path, f"{self._kept}\n".encode())
        return counter


def _stored(path: Path) -> int:
    try:
        counter = int(path.read_text(encoding="ascii"))
    except (OSError, ValueError):
        return 0  # the board says how far it is
    return counter if 0 <= counter < FURTHEST else 0

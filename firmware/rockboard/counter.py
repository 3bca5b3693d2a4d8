"""A number that survives a power cut: the counter of guarded commands."""

import os
import struct

_FORM = "<Q"
_SIZE = 8
SPENT = (1 << 64) - 1


class KeptCounter:
    """A counter in a file of the board.

    Args:
        path: The file; it need not exist yet.
    """

    def __init__(self, path: str) -> None:
        self._path = path

    def load(self) -> int:
        """Return what was kept last, 0 when nothing was.

        A damaged file counts as all spent: the board then obeys nobody over radio until it is set
        up anew over the cable. To begin at 0 would let every recorded command pass again.
        """
        try:
            with open(self._path, "rb") as file:
                data = file.read()
        except OSError:
            return 0
        return struct.unpack(_FORM, data)[0] if len(data) == _SIZE else SPENT

    def keep(self, counter: int) -> None:
        """Store a counter: written under another name first, so that one of the two is whole.

        Raises:
            OSError: When the flash does not take it.
        """
        with open(self._path + ".new", "wb") as file:
            file.write(struct.pack(_FORM, counter))
        os.rename(self._path + ".new", self._path)

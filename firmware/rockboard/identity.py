"""Who the board is: its name, its key, its id."""

import os

from rockwire import messages as m


class Identity:
    """A board that has no key yet: a random id, and no seal.

    Args:
        name: Shown to people who choose between boards.
    """

    public_key = None

    def __init__(self, name: str) -> None:
        self.name = name
        self.board_id = os.urandom(m.BOARD_ID_SIZE)

    def sign(self, nonce: bytes, chain):
        """Return the seal's signature over a capture; None, for there is no key."""
        return None

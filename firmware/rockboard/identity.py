"""Who the board is: its name, its key, its id.

The secret is made on the board from its random source, is kept in one file on the board's flash,
and is never sent. The public key and the id that follows from it are what a host pins.
"""

import gc
import hashlib
import os

from rockwire import messages as m
from rockwire.chain import seal_text

from .lean import forget

SECRET_SIZE = 32
PLENTY = 64 * 1024  # with so much heap free the signature's arithmetic stays loaded


class Identity:
    """A board and its key.

    Args:
        name: Shown to people who choose between boards.
        secret: 32 random bytes, None for a board that was not set up: a random id, and no seal.
    """

    def __init__(self, name: str, secret=None) -> None:
        self.name = name
        self._secret = secret
        self.public_key = _arithmetic().public_key(secret) if secret else None
        _let_go()
        self.board_id = (
            hashlib.sha256(self.public_key).digest()[: m.BOARD_ID_SIZE]
            if secret
            else os.urandom(m.BOARD_ID_SIZE)
        )

    def sign(self, nonce: bytes, chain):
        """Return the seal's signature over a capture, None where there is no key."""
        if self._secret is None:
            return None
        signature = _arithmetic().sign(self._secret, seal_text(nonce, chain), self.public_key)
        _let_go()
        return signature


def _arithmetic():
    from rockwire import ed25519

    return ed25519


def _let_go() -> None:
    """Free the arithmetic's code where room is short; the next signature loads it again."""
    if not hasattr(gc, "mem_free"):
        return  # no board, but a computer that runs the board's code: there is room
    gc.collect()
    if gc.mem_free() < PLENTY:
        forget("rockwire.ed25519", "rockwire.ed25519_table", "rockwire.sha512")


def stored_secret(path: str) -> bytes:
    """Return the secret in a file of the board; made there at the first start.

    The file is written under another name first, so that a power cut leaves a whole secret or none.
    """
    try:
        with open(path, "rb") as file:
            secret = file.read()
        if len(secret) == SECRET_SIZE:
            return secret
    except OSError:
        pass
    secret = os.urandom(SECRET_SIZE)
    with open(path + ".new", "wb") as file:
        file.write(secret)
    os.rename(path + ".new", path)
    return secret

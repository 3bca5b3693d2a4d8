"""Guarded commands: over radio a board obeys only whoever knows its key.

    mac = first 16 bytes of
          HMAC-SHA-256(key, "rockhold command 1" ‖ board id ‖ counter ‖ type ‖ payload)

The counter only ever rises, so a command that a stranger recorded is worth nothing a second time.
The form is in protocol/README.md, 1.7.
"""

import struct

from . import messages as m
from . import wire
from .errors import FrameError
from .hmac256 import hmac256, same_code

KEY_SIZE = 32
_PREFIX = b"rockhold command 1"
_TOP = (1 << 64) - 1

# A board writes its counter to flash only once in so many steps: with the host's µs as counter,
# about once a minute. After a power cut it goes on from the end of the stretch it had set aside.
RESERVE = 1 << 26

# These ask and change nothing, so anybody may send them. An Ack is not among them: it lets the
# board forget records.
OPEN_TO_ALL = (m.Hello, m.Clock, m.Status)


def mac_of(key: bytes, board_id: bytes, counter: int, kind: int, payload: bytes) -> bytes:
    """Return the 16 bytes that go with a command."""
    text = _PREFIX + board_id + struct.pack("<QB", counter, kind) + payload
    return hmac256(key, text)[: m.MAC_SIZE]


class Wrapper:
    """The host's side: puts a MAC and a new counter on every command.

    Args:
        key: 32 bytes, agreed when the board was set up.
        board_id: The board's id.
        now_us: The host's UTC in µs, which serves as counter: it rises by itself, for every host
            that knows the key.
    """

    def __init__(self, key: bytes, board_id: bytes, now_us: object) -> None:
        if len(key) != KEY_SIZE:
            raise ValueError("a key has %d bytes, not %d" % (KEY_SIZE, len(key)))
        self._key = key
        self._board_id = board_id
        self._now_us = now_us
        self._last = 0

    def wrap(self, message: tuple) -> tuple:
        """Return a command as it must be sent; one that is repeated is wrapped anew."""
        return message if isinstance(message, OPEN_TO_ALL) else self.enclose(message)

    def enclose(self, message: tuple) -> tuple:
        """Return any command wrapped, also one that need not be."""
        self._last = max(self._last + 1, self._now_us())  # type: ignore[operator]
        kind, payload = wire.type_of(message), wire.encode(message)
        mac = mac_of(self._key, self._board_id, self._last, kind, payload)
        return m.Guarded(self._last, kind, payload, mac)

    def learn(self, stale: m.Stale) -> None:
        """Take a Stale answer: the board is further; the next command will be further still."""
        self._last = max(self._last, stale.counter)


class Guard:
    """The board's side: lets through what is open to all or carries the right MAC, once.

    Args:
        key: 32 bytes, agreed when the board was set up.
        board_id: The board's own id.
        stored: The counter as `keep` last got it, 0 at first.
        keep: Stores a counter so that it survives a power cut; raises OSError when it cannot.
    """

    def __init__(self, key: bytes, board_id: bytes, stored: int, keep: object) -> None:
        if len(key) != KEY_SIZE:
            raise ValueError("a key has %d bytes, not %d" % (KEY_SIZE, len(key)))
        self._key = key
        self._board_id = board_id
        self._last = stored
        self._set_aside = stored  # counters up to here are spent if the power goes now
        self._keep = keep

    def admit(self, message: tuple) -> tuple:
        """Return (command to obey or None, answer to send at once or None)."""
        if isinstance(message, OPEN_TO_ALL):
            return message, None
        if not isinstance(message, m.Guarded):
            return None, _refusal(wire.encode(message))
        mac = mac_of(self._key, self._board_id, message.counter, message.type, message.payload)
        if not same_code(message.mac, mac):
            return None, _refusal(message.payload)
        inner = _inner_of(message)
        if inner is None:
            return None, m.Done(_request_of(message.payload), m.NOT_UNDERSTOOD)
        if message.counter <= self._last:
            return None, m.Stale(_request_of(message.payload), self._last)
        if not self._spend(message.counter):
            return None, _refusal(message.payload)
        return inner, None

    def _spend(self, counter: int) -> bool:
        if counter > self._set_aside:
            ahead = min(counter + RESERVE, _TOP)
            try:
                self._keep(ahead)  # type: ignore[operator]
            except OSError:
                return False  # a counter that is not kept could be played again
            self._set_aside = ahead
        self._last = counter
        return True


def _inner_of(message: m.Guarded) -> tuple | None:
    # A later version's command, or an answer, record or second wrapper in disguise: not ours.
    if message.type >= m.FIRST_ANSWER or message.type == wire.GUARDED:
        return None
    try:
        return wire.decode(message.type, message.payload)
    except FrameError:
        return None


def _request_of(payload: bytes) -> int:
    return payload[0] | payload[1] << 8 if len(payload) > 1 else 0


def _refusal(payload: bytes) -> tuple:
    return m.Done(_request_of(payload), m.NOT_ALLOWED)

"""The link over radio: a board's BLE peripheral, through bleak.

    bleak's thread: notifications ──▶ queue ──▶ read()
    write(), connect ──▶ bleak's thread, waited for

bleak is imported when a radio is asked for, so that without it everything else works.
"""

import asyncio
import contextlib
import threading
from typing import TYPE_CHECKING

from rockhold.errors import LinkError, LinkLostError, NoBoardError
from rockhold.links.base import Guarding
from rockhold.links.radio_loop import through
from rockhold.links.radio_scan import RadioBoard
from rockwire import radio

if TYPE_CHECKING:
    from bleak import BleakClient

_CONNECT_S = 10.0
_WRITE_S = 5.0
_GOODBYE_S = 2.0
_SMALLEST_PART = 20  # what one write carries at the smallest MTU
_LONGEST_PART = 182  # more does not come in one piece at every board


class BleLink:
    """A connection to a board's radio.

    Args:
        board: The board, as it was heard.
        guard: What commands need over radio.

    Raises:
        NoBoardError: When it cannot be connected to.
    """

    def __init__(self, board: RadioBoard, guard: Guarding) -> None:
        self.name = f'radio "{board.name}"'
        self.guard = guard
        self._came = bytearray()
        self._lost = False
        self._changed = threading.Condition()
        self._client: BleakClient | None = None
        try:
            through(self._connect(board), 2 * _CONNECT_S, NoBoardError, self.name)
        except LinkError:
            self.close()
            raise

    async def _connect(self, board: RadioBoard) -> None:
        """Set the connection up; end at once when it breaks meanwhile, whatever is waited for."""
        self._broke = asyncio.Event()
        work = asyncio.ensure_future(self._set_up(board))
        broke = asyncio.ensure_future(self._broke.wait())
        try:
            await asyncio.wait({work, broke}, return_when=asyncio.FIRST_COMPLETED)
            if not work.done():
                raise ConnectionError("it went away while the connection was set up")
            work.result()
        finally:
            work.cancel()
            broke.cancel()

    async def _set_up(self, board: RadioBoard) -> None:
        from bleak import BleakClient

        # The callback is there before the connection: that can break while it is being set up.
        client = BleakClient(board.device, self._disconnected, timeout=_CONNECT_S)
        self._client = client
        await client.connect()
        to_host = client.services.get_characteristic(radio.TO_HOST)
        self._to_board = client.services.get_characteristic(radio.TO_BOARD)
        if to_host is None or self._to_board is None:
            raise ConnectionError("it has not the service of a rockhold board")
        # Not by signals of the bus (BlueZ): after a reconnect those come twice.
        await client.start_notify(to_host, self._take, bluez={"use_start_notify": False})

    def _take(self, _: object, data: bytearray) -> None:
        with self._changed:
            self._came += data
            self._changed.notify_all()

    def _disconnected(self, _: object) -> None:
        self._broke.set()
        with self._changed:
            self._lost = True
            self._changed.notify_all()

    def read(self, wait_s: float) -> bytes:
        """Return what has come; wait at most `wait_s` seconds for the first byte."""
        with self._changed:
            self._changed.wait_for(lambda: self._came or self._lost, wait_s)
            data = bytes(self._came)
            self._came.clear()
        if self._lost and not data:
            raise self._gone()
        return data

    def write(self, data: bytes) -> None:
        """Send bytes."""
        if self._lost:
            raise self._gone()
        if data:
            through(self._send(data), _WRITE_S, LinkLostError, self.name)

    async def _send(self, data: bytes) -> None:
        assert self._client is not None
        assert self._to_board is not None
        fits = self._to_board.max_write_without_response_size
        size = max(_SMALLEST_PART, min(fits, _LONGEST_PART))
        for at in range(0, len(data), size):
            # Without an answer: whatever is lost here is asked for again, and a board whose
            # buffers are full could not answer.
            await self._client.write_gatt_char(self._to_board, data[at : at + size], response=False)

    def close(self) -> None:
        """Let go of the board; never raises."""
        client, self._client = self._client, None
        self._lost = True
        if client is not None:
            with contextlib.suppress(LinkError):
                through(client.disconnect(), _GOODBYE_S, LinkLostError, self.name)

    def _gone(self) -> LinkLostError:
        return LinkLostError(
            f"the board on {self.name} went away: out of reach, or without power. Bring it nearer"
        )

"""Which boards are heard over radio; each says what it is to everybody."""

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rockhold.errors import NoBoardError
from rockhold.links.radio_loop import through
from rockwire import radio

if TYPE_CHECKING:
    from bleak.backends.device import BLEDevice
    from bleak.backends.scanner import AdvertisementData

_START_S = 10.0  # the radio's own time to start and stop
_NAMESAKE_S = 0.6  # a board is heard about every 0.25 s: is there another of the same name?


@dataclass(frozen=True, slots=True)
class RadioBoard:
    """A board that was heard.

    Attributes:
        device: What bleak connects to.
        address: The radio's address; on macOS a number that the system gave it.
        name: The board's name.
        board_id: The board's id, as it says itself; 16 hexadecimal digits.
        recording: Whether it is recording.
        taken: Whether it serves another host, so that nobody else can connect.
        battery_mv: Voltage of its battery, in mV; 0 when it is not known.
        signal_dbm: How strongly it is heard, in dBm.
    """

    device: "BLEDevice"
    address: str
    name: str
    board_id: str
    recording: bool
    taken: bool
    battery_mv: int
    signal_dbm: int

    def is_called(self, wanted: str) -> bool:
        """Say whether a word (name, address or id) means this board."""
        return wanted == self.name or wanted.lower() in (self.address.lower(), self.board_id)


def scan(seconds: float) -> list[RadioBoard]:
    """Listen for a while and return the boards that were heard, the strongest first.

    Raises:
        NoBoardError: When this computer has no radio that can be used.
    """
    heard = through(_listen(seconds, ""), seconds + _START_S, NoBoardError, "radio")
    return sorted(heard, key=lambda board: -board.signal_dbm)


def find(wanted: str, seconds: float) -> RadioBoard:
    """Return the board of a name, address or id as soon as it is heard and free.

    Raises:
        NoBoardError: When it is not heard in time, serves somebody else, is one of several of that
            name, or when this computer's radio cannot be used.
    """
    heard = through(_listen(seconds, wanted), seconds + _START_S, NoBoardError, "radio")
    called = [board for board in heard if board.is_called(wanted)]
    if not called:
        others = ", ".join(f'"{board.name}"' for board in heard) or "none"
        raise NoBoardError(
            f'no board "{wanted}" is heard over radio; heard: {others}. Switch it on and bring it '
            "nearer; only a board that was set up over its cable (rockhold board setup) speaks"
        )
    if len(called) > 1:
        ids = ", ".join(board.board_id for board in called)
        raise NoBoardError(f'several boards are called "{wanted}". Name one by its id: {ids}')
    if called[0].taken:
        raise NoBoardError(
            f'the board "{wanted}" serves another computer over radio. Wait, or use its cable'
        )
    return called[0]


async def _listen(seconds: float, wanted: str) -> list[RadioBoard]:
    """Return the boards heard within some seconds; less when the wanted one is heard and free."""
    import asyncio

    from bleak import BleakScanner

    heard: dict[str, RadioBoard] = {}
    found = asyncio.Event()

    def hear(device: "BLEDevice", said: "AdvertisementData") -> None:
        board = _board_of(device, said)
        if board is not None:
            heard[board.board_id] = board
            if wanted and board.is_called(wanted) and not board.taken:
                found.set()

    async with BleakScanner(hear):
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(found.wait(), seconds)
            if any(board.name == wanted for board in heard.values()):
                await asyncio.sleep(_NAMESAKE_S)
    return list(heard.values())


def _board_of(device: "BLEDevice", said: "AdvertisementData") -> RadioBoard | None:
    facts = radio.unpack(said.service_data.get(radio.SERVICE, b""))
    if facts is None:
        return None
    return RadioBoard(
        device,
        device.address,
        said.local_name or device.name or "",
        facts.board_id.hex(),
        facts.recording,
        facts.taken,
        facts.battery_mv,
        said.rssi,
    )

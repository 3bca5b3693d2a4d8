"""A board with a radio, set up for this computer: its key here and there, its stack in the air."""

import json
import threading

from rockboard.identity import Identity
from rockhold.links.ble import BleLink
from rockhold.links.radio_scan import find
from rockhold.links.serial_port import SerialLink
from rockhold.record.job import record
from rockhold.record.radiokeys import RadioGuard
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.unix_board import UnixBoard
from support_evidence import JOB

SECRET = bytes(range(1, 33))
KEY = b"the key of the radio, 32 bytes.."


class RadioBench(UnixBoard):
    """The board; `keys` is the folder where this computer keeps radio keys.

    Args:
        air: Where its stack is.
        folder: For flash, secret and keys.
        name: Of the board.
        seats: How many hosts its stack holds.
        settings: Of the board.
        secret: Its own key.
    """

    def __init__(self, air, folder, name="bay 3", seats=1, settings=None, secret=SECRET):
        self.air = air
        self.board_id = Identity("", secret).board_id.hex()
        self.keys = folder / "home" / "radio"
        self.keys.mkdir(parents=True, exist_ok=True)
        (self.keys / f"{self.board_id}.key").write_text(KEY.hex() + "\n")
        flash = folder / f"flash of {self.board_id}"
        flash.mkdir(exist_ok=True)
        (flash / "radio.key").write_bytes(KEY)
        if settings:
            (flash / "settings.json").write_text(json.dumps(settings))
        secret_file = flash / "secret"
        secret_file.write_bytes(secret)
        super().__init__(name, secret_file, flash, air.place_for_board(), seats)

    def connect(self, guard=None, listen_s=8.0):
        """Return a link over radio."""
        return BleLink(find(self.board_id, listen_s), guard or RadioGuard(self.keys))

    def cable(self):
        """Return a link over the cable."""
        return SerialLink(self.device)

    def record(self, path, show, ways=None, stored=lambda message: None):
        """Record over radio while `show` lets the board see readings; the button must end it."""
        begun = threading.Event()
        words = []

        def play():
            begun.wait(10)
            show()

        def see(message):
            begun.set()
            stored(message)

        worker = threading.Thread(target=play, daemon=True)
        worker.start()
        onlooker = Onlooker(see, lambda: False, words.append)
        outcome = record(Ways(ways or self.connect), JOB, path, onlooker)
        worker.join()
        return outcome, words

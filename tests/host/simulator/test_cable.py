"""A cable that can be pulled at any moment."""

import os
import select
import time

from rockhold.simulator import cable as module
from rockhold.simulator.cable import Cable


def test_a_cable_pulled_as_it_is_about_to_be_listened_to_lives_on(tmp_path, monkeypatch):
    board, device = os.openpty()
    cable = Cable(os.ttyname(device), tmp_path / "port")
    pulled = []

    class Pulling:
        @staticmethod
        def select(reading, *rest):
            if len(reading) == 2 and not pulled:
                pulled.append(cable.pull())
            return select.select(reading, *rest)

    monkeypatch.setattr(module, "select", Pulling)
    with cable:
        end_s = time.monotonic() + 5.0
        while not pulled and time.monotonic() < end_s:
            time.sleep(0.01)
        assert pulled
        cable.join(0.2)
        assert cable.is_alive()
        cable.plug()
        host = os.open(tmp_path / "port", os.O_RDWR | os.O_NOCTTY)
        os.write(board, b"said by the board")
        heard = os.read(host, 100)
    assert heard == b"said by the board"
    for end in (board, device, host):
        os.close(end)

"""Which board a command is about, where nobody names its port."""

import contextlib

import pytest

from rockhold.cli import port
from rockhold.errors import NoBoardError
from rockhold.links.serial_port import PortInfo
from rockhold.record.greeting import greet
from rockhold.simulator.unix_board import UnixBoard
from support import needs_micropython

pytestmark = needs_micropython


def test_of_two_boards_none_is_taken_unasked_and_a_lost_one_is_found_again(monkeypatch):
    with contextlib.ExitStack() as stack:
        boards = [stack.enter_context(UnixBoard(name)) for name in ("bay 3", "bay 4")]
        plugged = [PortInfo(board.device, "") for board in boards]
        monkeypatch.setattr(port, "find_ports", lambda: plugged)
        with pytest.raises(NoBoardError) as told:
            port.open_board(None)
        assert "2 boards answer" in str(told.value)
        assert f'{boards[1].device} "bay 4"' in str(told.value)
        assert "--port" in str(told.value)
        way = port.CableWay(None)
        plugged.pop(0)
        with contextlib.closing(way()) as link:
            assert greet(link).name == "bay 4"
        plugged.insert(0, PortInfo(boards[0].device, ""))  # plugged in meanwhile
        with contextlib.closing(way()) as link:
            assert greet(link).name == "bay 4"

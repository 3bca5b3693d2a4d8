import os
import termios
import tty

import pytest
import serial

from rockhold.errors import LinkLostError, NoBoardError
from rockhold.links.serial_port import SerialLink


@pytest.fixture
def terminal():
    near, far = os.openpty()
    tty.setraw(far)
    ends = {"near": near, "far": far, "device": os.ttyname(far)}
    yield ends
    for end in ("near", "far"):
        if ends[end] is not None:
            os.close(ends[end])


def unplug(terminal):
    for end in ("near", "far"):
        os.close(terminal[end])
        terminal[end] = None


def test_moves_any_byte_both_ways(terminal):
    link = SerialLink(terminal["device"])
    every = bytes(range(256))
    os.write(terminal["near"], every)
    got = b""
    while len(got) < 256:
        got += link.read(1.0)
    assert got == every
    link.write(every)
    assert os.read(terminal["near"], 512) == every
    assert link.read(0.01) == b""
    link.close()
    link.close()


def test_unplugged_while_reading_and_writing(terminal):
    link = SerialLink(terminal["device"])
    unplug(terminal)
    with pytest.raises(LinkLostError, match="went away"):
        for _ in range(3):
            link.read(0.05)
    with pytest.raises(LinkLostError, match="went away"):
        link.write(b"x")


@pytest.mark.parametrize(
    "error", [OSError(5, "I/O"), serial.SerialException("gone"), TypeError("fd"), ValueError("fd")]
)
@pytest.mark.parametrize("call", ["read", "write"])
def test_whatever_pyserial_raises_is_a_lost_link_and_the_port_is_closed(
    terminal, monkeypatch, error, call
):
    link = SerialLink(terminal["device"])

    def fail(*_):
        raise error

    monkeypatch.setattr(link._port, call, fail)
    with pytest.raises(LinkLostError, match="--resume"):
        link.read(0.01) if call == "read" else link.write(b"x")
    assert not link._port.is_open


def test_closing_the_port_does_not_drop_the_line_that_resets_some_boards(terminal):
    SerialLink(terminal["device"]).close()
    assert not termios.tcgetattr(terminal["far"])[2] & termios.HUPCL


def test_one_program_at_a_time(terminal):
    first = SerialLink(terminal["device"])
    with pytest.raises(NoBoardError, match="in use by another program"):
        SerialLink(terminal["device"])
    first.close()
    SerialLink(terminal["device"]).close()


def test_no_such_port_and_no_port_at_all(tmp_path):
    with pytest.raises(NoBoardError, match="there is no port"):
        SerialLink(str(tmp_path / "ttyNone"))
    (tmp_path / "file").write_text("")
    with pytest.raises(NoBoardError, match=r"does not open as a serial port \([A-Z][^\[\]]+\)\. "):
        SerialLink(str(tmp_path / "file"))

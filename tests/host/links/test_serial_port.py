import grp
import os
import termios
import tty
from pathlib import Path

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
    with pytest.raises(LinkLostError, match="went away"):
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
    with pytest.raises(NoBoardError, match="file is a file, no serial port"):
        SerialLink(str(tmp_path / "file"))
    with pytest.raises(NoBoardError, match="is a folder, no serial port"):
        SerialLink(str(tmp_path))
    with pytest.raises(NoBoardError, match="/dev/null is another device, no serial port"):
        SerialLink("/dev/null")


def test_a_mistyped_port_is_told_which_may_be_meant(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "practice-board").write_text("")
    with pytest.raises(NoBoardError, match=r"Did you mean practice-board\? Else plug"):
        SerialLink("pratice-board")
    with pytest.raises(NoBoardError, match=f"Did you mean {tmp_path}/practice-board"):
        SerialLink(str(tmp_path / "practice-bord"))
    with pytest.raises(NoBoardError, match=r"left\. Plug the board in"):
        SerialLink("left")


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a port to another group")
def test_who_may_not_open_a_port_is_told_whom_its_group_lets_in(terminal):
    group = grp.getgrnam("dialout")
    os.chown(terminal["device"], 0, group.gr_gid)
    place = Path(terminal["device"])
    place.chmod(0o660)
    assert "Its group, dialout, may: `sudo usermod -aG dialout $USER`" in _as_nobody(terminal)
    place.chmod(0o600)
    assert "Only its owner may" in _as_nobody(terminal)


def _as_nobody(terminal):
    """What somebody without any rights is told."""
    near, far = os.pipe()
    if not (child := os.fork()):
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
        try:
            SerialLink(terminal["device"])
        except NoBoardError as error:
            os.write(far, str(error).encode())
        os._exit(0)
    os.waitpid(child, 0)
    os.close(far)
    with os.fdopen(near) as said:
        return said.read()

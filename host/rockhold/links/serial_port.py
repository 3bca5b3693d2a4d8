"""The link over a serial port: USB, or a pseudo-terminal."""

import contextlib
import errno
import os
import stat
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import serial
from serial.tools import list_ports

try:
    import grp
    import termios
except ImportError:  # Windows has no such groups and modes
    grp = termios = None  # type: ignore[assignment]

from rockhold.errors import LinkLostError, NoBoardError

_BAUD = 115_200  # USB ignores it; a plain UART does not

_OF_GROUP = stat.S_IRGRP | stat.S_IWGRP

# pyserial raises any of these when a port goes away, from any call.
_GONE = (OSError, serial.SerialException, TypeError, ValueError)


@dataclass(frozen=True, slots=True)
class PortInfo:
    """A serial port that could be a board.

    Attributes:
        device: Path or name to open.
        description: What the system says about it.
    """

    device: str
    description: str


def find_ports() -> list[PortInfo]:
    """Return the USB serial ports of this computer, in the order of their names."""
    ports = [port for port in list_ports.comports() if port.vid is not None]
    return [PortInfo(port.device, port.description or "") for port in sorted(ports)]


class SerialLink:
    """A serial port held open, for this program alone.

    Args:
        device: Path or name of the port.

    Raises:
        NoBoardError: When the port is not there, may not be opened, or is in use.
    """

    guard = None  # a cable: whoever holds it may command

    def __init__(self, device: str) -> None:
        self.name = device
        try:
            self._port = serial.Serial(
                device, _BAUD, timeout=0.05, write_timeout=2.0, exclusive=True
            )
        except _GONE as error:
            raise NoBoardError(_why_not(device, error)) from error
        _leave_lines_alone(self._port.fileno())

    def read(self, wait_s: float) -> bytes:
        """Return what has come; wait at most `wait_s` seconds for the first byte."""
        try:
            self._port.timeout = wait_s
            first = self._port.read(1)
            return bytes(first + self._port.read(self._port.in_waiting) if first else first)
        except _GONE as error:
            raise self._lost(error) from error

    def write(self, data: bytes) -> None:
        """Send bytes."""
        try:
            self._port.write(data)
        except _GONE as error:
            raise self._lost(error) from error

    def close(self) -> None:
        """Let go of the port; never raises."""
        with contextlib.suppress(*_GONE):
            self._port.close()

    def _lost(self, error: Exception) -> LinkLostError:
        self.close()  # a port that failed stays dead on some systems until it is closed
        return LinkLostError(
            f"the board on {self.name} went away. Check the cable and the board's power"
        )


def _leave_lines_alone(descriptor: int) -> None:
    """Ask the driver not to drop DTR when the port is closed: its rise resets some boards.

    The first time a port is opened the system raises it, whatever a program says; a board that is
    reset by that while it records is told apart by its nonce (record/job.py).
    """
    if termios is None:
        return
    with contextlib.suppress(OSError, termios.error):
        modes = termios.tcgetattr(descriptor)
        modes[2] &= ~termios.HUPCL
        termios.tcsetattr(descriptor, termios.TCSANOW, modes)


def _why_not(device: str, error: Exception) -> str:
    number = error.errno if isinstance(error, OSError) else None
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO):
        near = get_close_matches(device, _neighbours(device), n=1, cutoff=0.8)
        meant = f"Did you mean {near[0]}? Else plug" if near else "Plug"
        return (
            f"there is no port {device}. {meant} the board in; `rockhold boards` lists what is "
            "there"
        )
    if number in (errno.EACCES, errno.EPERM) and not os.access(device, os.R_OK | os.W_OK):
        return f"you may not open {device}. {_how_to_be_let_in(device)}"
    if number == errno.EISDIR or "configure" in str(error):  # pyserial hides the number: no modes
        place = Path(device)
        what = "a folder" if place.is_dir() else "a file" if place.is_file() else "another device"
        return (
            f"{device} is {what}, no serial port. `rockhold boards` lists the ports that are here"
        )
    if number in (errno.EAGAIN, errno.EWOULDBLOCK, errno.EBUSY, errno.EACCES) or "lock" in str(
        error
    ):
        return (
            f"{device} is in use by another program: a rockhold in another terminal, or one that "
            "listens to serial ports. Close it, then try again"
        )
    why = os.strerror(number) if number else str(error)
    return (
        f"{device} does not open as a serial port ({why}). `rockhold boards` lists the ports that "
        "are here"
    )


def _neighbours(device: str) -> list[str]:
    """Return what stands in a port's folder, written as the port was."""
    try:
        return [str(place) for place in Path(device).parent.iterdir()]
    except (OSError, ValueError):
        return []


def _how_to_be_let_in(device: str) -> str:
    """Say how a person gets leave to open a port that is there."""
    status = Path(device).stat()
    if grp is None or status.st_mode & _OF_GROUP != _OF_GROUP or status.st_gid in os.getgroups():
        return "Only its owner may; ask whoever looks after this computer"
    group = grp.getgrgid(status.st_gid)
    if os.environ.get("USER") in group.gr_mem:
        return f"You have been put into its group {group.gr_name}, but must log out and in first"
    return (
        f"Its group, {group.gr_name}, may: `sudo usermod -aG {group.gr_name} $USER`, then log out "
        "and in again"
    )

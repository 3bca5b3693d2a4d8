"""The link over a serial port: USB, or a pseudo-terminal."""

import contextlib
from dataclasses import dataclass

import serial
from serial.tools import list_ports

try:
    import termios
except ImportError:  # Windows has no such modes
    termios = None  # type: ignore[assignment]

from rockhold.errors import LinkLostError, NoBoardError
from rockhold.links.unopened import why_not

_BAUD = 115_200  # USB ignores it; a plain UART does not

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
            raise NoBoardError(why_not(device, error)) from error
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

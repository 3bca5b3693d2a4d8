"""Reads a capture file into values, and refuses with a sentence what is not one."""

import base64
import binascii
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISFIFO

from rockhold.capture.lines import FORMAT_VERSION, from_line
from rockhold.errors import CaptureFormatError, CaptureVersionError

LARGEST = 1 << 26  # bytes; a day of readings has about a tenth of it
_START = b'{"rockhold":'
_NO_TEXT = {
    b"%PDF-": "a PDF",
    b"PK\x03\x04": "a ZIP archive; unpack it first",
    b"\x1f\x8b": "a gzip file; unpack it first",
    b"\xff\xd8\xff": "a JPEG picture",
    b"\x89PNG": "a PNG picture",
}
_LIKE = _NO_TEXT | {
    b"\xef\xbb\xbf": "a text that an editor saved anew, with a byte order mark; ask for the file "
    "as it was stored",
    b"\xff\xfe": "a text in UTF-16; ask for the file as it was stored",
}


@dataclass(frozen=True, slots=True)
class RecordLine:
    """A record as it stands in the file.

    Attributes:
        line: Number of its line, from 1.
        start: Where that line begins in the file, in bytes.
        packet: The packet as it came from the board.
        host_utc_us: When the host had it, µs since 1970 UTC.
    """

    line: int
    start: int
    packet: bytes
    host_utc_us: int


@dataclass(frozen=True, slots=True)
class Capture:
    """The lines of a capture, by kind and in order.

    Attributes:
        path: Where it was read from.
        header: Line 1.
        records: The board's records.
        others: All other lines but seals: (line number, object).
        seals: Numbers of the lines that begin as seals.
        cut_short: Whether the file ends inside a line, which is then left out.
        whole_size: Bytes up to the end of the last whole line.
    """

    path: Path
    header: dict[str, object]
    records: tuple[RecordLine, ...]
    others: tuple[tuple[int, dict[str, object]], ...]
    seals: tuple[int, ...]
    cut_short: bool
    whole_size: int

    def of_kind(self, name: str) -> list[dict[str, object]]:
        """Return the lines whose first name is `name`."""
        return [value for _, value in self.others if next(iter(value)) == name]


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a capture.

    Raises:
        CaptureFormatError: When it cannot be read, is empty, too large, or begins otherwise.
    """
    try:
        size = stored_size(path)
        with path.open("rb") as file:
            start = file.read(len(_START))
            if not size:
                raise CaptureFormatError(f"{path} is empty")
            if start != _START[: len(start)] or len(start) < len(_START):
                raise CaptureFormatError(f"{path} is not a capture: {_likeness(start)}", 1)
            if size > LARGEST:
                raise CaptureFormatError(
                    f"{path} has {size} bytes; a capture has at most {LARGEST}"
                )
            return start + file.read()
    except OSError as error:
        raise CaptureFormatError(f"cannot read {path}: {error.strerror}") from error


def stored_size(path: Path) -> int:
    """Return the size of a stored file, in bytes.

    Raises:
        CaptureFormatError: When it is a pipe: opening it would wait for ever.
        OSError: When it is not there, or may not be looked at.
    """
    status = path.stat()
    if S_ISFIFO(status.st_mode):
        raise CaptureFormatError(f"{path} is a pipe, not a file; store it first")
    return status.st_size


def foreign_kind(start: bytes) -> str:
    """Return what a file is that can be neither a capture nor a text, from its first bytes.

    Returns "" where they say nothing.
    """
    return next((kind for begin, kind in _NO_TEXT.items() if start.startswith(begin)), "")


def _likeness(start: bytes) -> str:
    """Say what a file that is no capture looks like, from its first bytes."""
    for begin, kind in _LIKE.items():
        if start.startswith(begin):
            return f"it begins like {kind}"
    if start.isascii() and start.decode().isprintable():
        return f'it begins with "{start.decode()}"'
    return f"it begins with the bytes {start[:8].hex(' ')}"


def read_capture(path: Path) -> Capture:
    """Return the lines of a capture file.

    Raises:
        CaptureFormatError: With the line where reading stopped.
    """
    return parse_capture(path, read_bytes(path))


def parse_capture(path: Path, data: bytes) -> Capture:
    """Return the lines of a capture whose bytes are at hand already."""
    lines = data.split(b"\n")
    rest = lines.pop()
    if not lines:
        raise CaptureFormatError(f"{path} ends inside its first line: nothing to read", 1)
    try:
        header = _header(from_line(lines[0], 1))
        records: list[RecordLine] = []
        others: list[tuple[int, dict[str, object]]] = []
        seals: list[int] = []
        start = len(lines[0]) + 1
        for number, line in enumerate(lines[1:], start=2):
            if line.startswith(b'{"record":"'):
                records.append(_record(from_line(line, number), number, start))
            elif line.startswith(b'{"seal":'):
                seals.append(number)
            else:
                others.append((number, from_line(line, number)))
            start += len(line) + 1
    except CaptureFormatError as error:
        raise type(error)(f"{path}: {error}", error.line) from error
    whole = len(data) - len(rest)
    return Capture(path, header, tuple(records), tuple(others), tuple(seals), bool(rest), whole)


def _header(value: dict[str, object]) -> dict[str, object]:
    if value.get("rockhold") != "capture":
        raise CaptureFormatError("line 1 is not the header of a capture", 1)
    version = value.get("version")
    if isinstance(version, int) and version > FORMAT_VERSION:
        raise CaptureVersionError(
            f"it is of version {version}; this rockhold reads up to version {FORMAT_VERSION}. "
            "Use a newer rockhold",
            1,
        )
    if version != FORMAT_VERSION:
        raise CaptureFormatError(f"there is no format of version {version!r}", 1)
    return value


def _record(value: dict[str, object], number: int, start: int) -> RecordLine:
    text, host_utc_us = value.get("record"), value.get("host_utc_us")
    if not isinstance(text, str) or not isinstance(host_utc_us, int):
        raise CaptureFormatError(f"line {number} is not a record", number)
    try:
        packet = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise CaptureFormatError(f"line {number} is not base64: {error}", number) from error
    if base64.b64encode(packet).decode() != text:
        raise CaptureFormatError(f"line {number} is not base64 in its one right form", number)
    return RecordLine(number, start, packet, host_utc_us)

"""Writes a capture: each line whole, and on disk before anybody says so."""

import base64
import contextlib
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Self

from rockhold.capture.lines import to_line
from rockhold.errors import CaptureWriteError


def check_place(path: Path) -> None:
    """Make sure that a capture can be made at a place, before anybody works for it.

    Raises:
        CaptureWriteError: When its folder is none, or may not be written into.
    """
    folder = next(one for one in path.absolute().parents if one.exists())
    if not folder.is_dir() or not os.access(folder, os.W_OK):
        raise _not_made(path, f"you may not write into {folder}, or it is no folder")


def _not_made(path: Path, why: str | None) -> CaptureWriteError:
    return CaptureWriteError(
        f"cannot make {path}: {why}. Nothing was recorded; choose a file in a folder that you may "
        "write into, on a disk with room"
    )


class CaptureWriter:
    """An open capture that grows by lines.

    Args:
        path: A file that does not exist yet; nothing is ever overwritten.

    Raises:
        CaptureWriteError: When the file exists or cannot be made.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = path.open("xb", buffering=0)
        except OSError as error:
            if path.exists():
                raise CaptureWriteError(
                    f"{path} exists already, and a capture is never overwritten. Choose another "
                    "name"
                ) from error
            raise _not_made(path, error.strerror) from error
        self._size = 0

    @classmethod
    def again(cls, path: Path) -> Self:
        """Open a capture that was broken off, to go on behind its last whole line.

        A line that was cut short is taken away: it was never acknowledged, so the board still has
        what stood in it.

        Raises:
            CaptureWriteError: When the file cannot be written.
        """
        self = cls.__new__(cls)
        self.path = path
        try:
            self._file = path.open("r+b", buffering=0)
            data = self._file.read()
            self._size = data.rfind(b"\n") + 1
            self._file.truncate(self._size)
            self._file.seek(self._size)
        except OSError as error:
            raise CaptureWriteError(f"cannot write to {path}: {error.strerror}") from error
        return self

    def append(self, value: Mapping[str, object]) -> None:
        """Write one line; `sync` puts it on disk.

        Raises:
            CaptureWriteError: When the disk refuses; the file then ends with the last whole line.
        """
        line = to_line(value)
        try:
            written = self._file.write(line)
            if written != len(line):
                self._file.write(line[written:])  # a full disk says so at this second try
        except OSError as error:
            with contextlib.suppress(OSError):
                self._file.truncate(self._size)
            raise CaptureWriteError(
                f"cannot write to {self.path}: {error.strerror}; make room or mend the disk"
            ) from error
        self._size += len(line)

    def record(self, packet: bytes, host_utc_us: int) -> None:
        """Write a record as it came from the board."""
        text = base64.b64encode(packet).decode()
        self.append({"record": text, "host_utc_us": host_utc_us})

    def note(self, what: str, host_utc_us: int, **facts: object) -> None:
        """Write something that the software noticed."""
        self.append({"note": what, "host_utc_us": host_utc_us, **facts})

    def sync(self) -> None:
        """Return when everything written is on disk.

        Raises:
            CaptureWriteError: When the disk refuses.
        """
        try:
            os.fsync(self._file.fileno())
        except OSError as error:
            raise CaptureWriteError(
                f"the disk does not take {self.path}: {error.strerror}; make room or mend it"
            ) from error

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def __enter__(self) -> Self:
        """Return the writer."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the file, whatever happened."""
        self.close()

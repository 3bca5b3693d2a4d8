"""A list of the files that are done, so that a stopped run goes on where it was.

One JSON object a line: first what was done and with which options, then each file with its size,
its time and the exit code that it gave. A file that has changed since is not done.
"""

import json
from collections.abc import Mapping
from pathlib import Path

from rockhold.errors import UsageError


class DoneList:
    """The list, open for adding.

    Attributes:
        codes: The exit codes of the files that need no work now.
    """

    def __init__(self, path: Path, what: Mapping[str, object]) -> None:
        """Read a list, or begin one.

        Args:
            path: The list.
            what: What is done, with the options that change its results.

        Raises:
            UsageError: When the list is of another work, or cannot be read or written.
        """
        self._path = path
        self._done: dict[str, tuple[int, int, int]] = {}
        self.codes: set[int] = set()
        first = json.dumps(dict(what), sort_keys=True)
        try:
            whole = path.read_bytes() if path.exists() else b""
            lines = whole.split(b"\n")[:-1]  # what follows the last LF was cut short
            if lines and lines[0].decode() != first:
                raise UsageError(
                    f"{path} lists what another command or other options did; name another list"
                )
            if whole and not lines:
                raise UsageError(f"{path} is no list of done files; name another one")
            self._file = path.open("r+b" if whole else "w+b")
            self._file.truncate(whole.rfind(b"\n") + 1)
            self._file.seek(0, 2)
        except (OSError, UnicodeDecodeError) as error:
            raise UsageError(f"{path} cannot be used as a list of done files: {error}") from error
        if not lines:
            self._write(first)
        for line in lines[1:]:
            self._take(line)

    def has(self, path: Path) -> bool:
        """Say whether a file is done and has not changed since; its exit code then counts."""
        known = self._done.get(str(path))
        if known is None or known[:2] != _stamp(path):
            return False
        self.codes.add(known[2])
        return True

    def add(self, path: Path, code: int) -> None:
        """Note that a file is done."""
        size, mtime_ns = _stamp(path)
        self._write(json.dumps([str(path), size, mtime_ns, code]))

    def __enter__(self) -> "DoneList":
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def _take(self, line: bytes) -> None:
        try:
            name, size, mtime_ns, code = json.loads(line)
            self._done[str(name)] = (int(size), int(mtime_ns), int(code))
        except (ValueError, TypeError):
            return  # a damaged line: that file is done again

    def _write(self, line: str) -> None:
        try:
            self._file.write(line.encode() + b"\n")
            self._file.flush()
        except OSError as error:
            raise UsageError(f"cannot write {self._path}: {error.strerror}") from error


def _stamp(path: Path) -> tuple[int, int]:
    try:
        stat = path.stat()
    except OSError:
        return -1, -1
    return stat.st_size, stat.st_mtime_ns

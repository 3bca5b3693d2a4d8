"""Takes out entries whose file is not there any more: the files are the truth."""

from pathlib import Path

from sqlalchemy import delete, select

from rockhold.capture.folders import is_gone
from rockhold.library.index import Library
from rockhold.library.tables import CAPTURES

_CHUNK = 500


def all_paths(library: Library) -> list[Path]:
    """Return the path of every entry of this computer."""
    wanted = select(CAPTURES.c.path).where(CAPTURES.c.computer == library.computer)
    with library.reading() as connection:
        return [Path(path) for path in connection.execute(wanted.order_by("path")).scalars()]


def drop_gone(library: Library) -> list[Path]:
    """Drop the entries of this computer whose file is gone, and return their paths."""
    gone = [path for path in all_paths(library) if is_gone(path)]
    for at in range(0, len(gone), _CHUNK):
        paths = [str(path) for path in gone[at : at + _CHUNK]]
        with library.writing() as connection:
            connection.execute(
                delete(CAPTURES).where(
                    CAPTURES.c.computer == library.computer, CAPTURES.c.path.in_(paths)
                )
            )
    return gone

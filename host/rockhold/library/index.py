"""Opens the index: an SQLite file of one's own, or a PostgreSQL server that several shops share.

Who changes the index holds a lock for the moment of one batch (SQLite: BEGIN IMMEDIATE; PostgreSQL:
an advisory lock of the transaction). So what a batch decides from what it read is still true when
it writes, and two people who add at once lose nothing.
"""

import os
import platform
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError

from rockhold.errors import LibraryError
from rockhold.evidence.keys import home
from rockhold.library.migrate import bring_up_to_date

INDEX = "ROCKHOLD_INDEX"  # the environment's name for it: a URL with a password shows in no list
FILE_NAME = "library.sqlite"
_WAIT_MS = 60_000  # for another's batch
_LOCK = 0x726F636B686F6C64  # "rockhold": the number of our advisory lock


def where_of(named: str | None) -> str:
    """Return path or URL of the index: as named, else as the environment says, else our own."""
    return named or os.environ.get(INDEX) or str(home() / FILE_NAME)


class Library:
    """An open index.

    Attributes:
        where: Where it is, without any password.
        computer: What this computer is called; a path means something only together with it.
    """

    def __init__(self, engine: Engine, where: str) -> None:
        self._engine = engine
        self.where = where
        self.computer = platform.node()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection to read from."""
        with _told(self.where), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that alone may write, until the end of the block."""
        with _told(self.where), self._engine.connect() as connection:
            with _alone(connection):
                yield connection
            connection.commit()

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


@contextmanager
def open_library(named: str | None = None, must_exist: bool = False) -> Iterator[Library]:
    """Open the index, and make or update its tables where they are missing or old.

    Args:
        named: Where it is; see where_of().
        must_exist: Refuse to begin a new one; for those who only look things up. They may then do
            so where they cannot write.

    Raises:
        LibraryError: When it cannot be opened, or a newer rockhold made it.
    """
    url = _url(where_of(named))
    if must_exist and url.drivername == "sqlite" and not Path(str(url.database)).exists():
        raise LibraryError(
            f"there is no index at {url.database} yet. `rockhold library add FOLDER` makes one "
            "from a folder of captures"
        )
    where = url.database if url.drivername == "sqlite" else url.render_as_string(hide_password=True)
    with _told(str(where)):
        closed = must_exist and _may_only_read(url)
        library = Library(_engine_to_read(url) if closed else _engine(url), str(where))
    try:
        with _told(library.where), library._engine.connect() as connection:
            bring_up_to_date(connection, lambda: _alone(connection))
        yield library
    finally:
        library.close()


def _url(named: str) -> URL:
    if "://" not in named:
        path = Path(named).absolute()
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise LibraryError(f"cannot make the folder {path.parent}: {error.strerror}") from error
        return URL.create("sqlite", database=str(path))
    try:
        url = make_url(named)
    except ArgumentError as error:
        raise LibraryError(
            "the index's URL cannot be read. It looks like postgresql://host/db"
        ) from error
    kind = url.drivername.split("+")[0]
    if kind in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    if kind == "sqlite" and url.database:
        return URL.create("sqlite", database=url.database)
    raise LibraryError(f"an index on {kind} is not known: give a path or a postgresql:// URL")


def _engine(url: URL) -> Engine:
    try:
        if url.drivername != "sqlite":
            return create_engine(url, pool_pre_ping=True)
        engine = create_engine(url, connect_args={"timeout": _WAIT_MS / 1000})
    except (NoSuchModuleError, ImportError) as error:
        raise LibraryError(
            "a PostgreSQL index needs psycopg: in the clone, pipx install --force '.[postgres]'"
        ) from error
    event.listen(engine, "connect", _sqlite_connected)
    return engine


def _may_only_read(url: URL) -> bool:
    """Say whether an index lies where this person may look but not write."""
    if url.drivername != "sqlite":
        return False
    path = Path(str(url.database))
    return not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK))


def _engine_to_read(url: URL) -> Engine:
    """Open an index where not even the small files beside it can be made that reading asks for.

    Without such a file of somebody who writes it stands still, and is read as it stands.
    """
    path = Path(str(url.database))
    still = "" if path.with_name(f"{path.name}-wal").exists() else "&immutable=1"

    def connect() -> sqlite3.Connection:
        address = f"{path.absolute().as_uri()}?mode=ro{still}"
        return sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)

    return create_engine(url, creator=connect)


def _sqlite_connected(connection: Any, _record: object) -> None:
    # None: Python's module shall begin no transaction by itself; _alone() does.
    connection.isolation_level = None
    _write_ahead(connection)
    for pragma in ("synchronous=NORMAL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _write_ahead(connection: Any) -> None:
    """Let people read while one writes.

    SQLite's own waiting does not cover this one change of a new file, so several who open it at
    once would be refused.
    """
    end_s = time.monotonic() + _WAIT_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > end_s:
                raise
            time.sleep(0.01)
        else:
            return


@contextmanager
def _alone(connection: Connection) -> Iterator[None]:
    """Hold the right to write until the end of the transaction."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
    yield


@contextmanager
def _told(where: str) -> Iterator[None]:
    """Turn what the database says into a sentence."""
    try:
        yield
    except DBAPIError as error:
        reason = str(error.orig).strip().splitlines()[0] if error.orig else "no reason given"
        raise LibraryError(f"the index {where}: {reason}. {_advice(reason)}") from error
    except SQLAlchemyError as error:
        raise LibraryError(f"the index {where}: {str(error).splitlines()[0]}") from error


def _advice(reason: str) -> str:
    if "not a database" in reason or "malformed" in reason:
        return "Move it away and add the folders again: the captures themselves are untouched"
    if "readonly" in reason or "read-only" in reason or "unable to open" in reason:
        return "Choose a place where you may write, with --index"
    if "locked" in reason:
        return "Somebody else is writing; try again"
    return "Nothing of the captures is lost; mend this and run the command again"

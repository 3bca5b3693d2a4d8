"""Makes the tables of the index, or brings those of an older rockhold up to date."""

from collections.abc import Callable
from contextlib import AbstractContextManager

from sqlalchemy import Connection, inspect, text

from rockhold.errors import LibraryError

NEWEST = "0001"  # the last of migrations/versions; a test holds the two together


def bring_up_to_date(
    connection: Connection, alone: Callable[[], AbstractContextManager[None]]
) -> None:
    """Run the migrations that are missing; most often there are none, and alembic is not loaded.

    Args:
        connection: To the index.
        alone: Holds the right to write.

    Raises:
        LibraryError: When the index is of a newer rockhold.
    """
    found = version_of(connection)
    connection.rollback()
    if found == NEWEST:
        return
    with alone():
        if version_of(connection) != NEWEST:  # else another has done it while we waited
            _upgrade(connection)
    connection.commit()


def version_of(connection: Connection) -> str | None:
    """Return the version of the tables, None where there are none."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.util.exc import CommandError

    config = Config()
    config.set_main_option("script_location", "rockhold.library:migrations")
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise LibraryError(
            f"this index is of another version ({version_of(connection)}); this rockhold knows "
            f"versions up to {NEWEST}. Use a newer rockhold, or name another index"
        ) from error

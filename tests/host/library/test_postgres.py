"""Several shops share one index on a real PostgreSQL server."""

import json
import subprocess

import psycopg
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from rockhold.errors import LibraryError
from rockhold.library.index import INDEX, open_library
from rockhold.library.migrate import NEWEST, version_of
from rockhold.library.tables import METADATA
from support_board import Rockhold
from support_library import base_capture, variant

FILES = 120


@pytest.fixture
def url(postgres):
    return postgres.new_database()


def test_the_tables_are_made_and_are_those_that_the_program_knows(url):
    with open_library(url) as library, library.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
        assert version_of(connection) == NEWEST


def test_an_index_of_a_newer_rockhold_is_refused(url):
    with open_library(url):
        pass
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(LibraryError, match="Use a newer rockhold"), open_library(url):
        pass


def test_two_shops_that_add_at_once_lose_nothing(url, tmp_path):
    """Two real commands, on a new index, with forty files in common."""
    base = base_capture(tmp_path / "base")
    folder = tmp_path / "captures"
    shops = [folder / "north", folder / "both", folder / "south"]
    for number in range(FILES):
        shop = shops[number * len(shops) // FILES]
        shop.mkdir(parents=True, exist_ok=True)
        data = variant(base, number=f"{number}", opened_utc=f"2026-01-01T00:{number % 60:02}:00Z")
        (shop / f"{number:03}.capture").write_bytes(data)
    rockhold = Rockhold(tmp_path / "home")
    env = {**rockhold.env, INDEX: url}
    adding = [
        subprocess.Popen(
            [*rockhold.command, "library", "add", *places],
            env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        for places in ((shops[0], shops[1]), (shops[2], shops[1]))
    ]  # fmt: skip
    for one in adding:
        told, error = one.communicate(timeout=60)
        assert one.returncode == 0, error
        assert "80 files" in told
    found = subprocess.run(
        [*rockhold.command, "library", "find", "--json"],
        env=env, capture_output=True, text=True, check=True,
    )  # fmt: skip
    entries = [json.loads(line) for line in found.stdout.splitlines()]
    assert sorted(int(entry["vehicle"]) for entry in entries) == list(range(FILES))
    assert all(len(entry["people"]) == 1 for entry in entries)


def test_the_same_file_seen_from_another_computer_stays_one_entry(url, tmp_path):
    from rockhold.library import adding
    from rockhold.library.facts import read_facts
    from rockhold.library.finding import Wanted, count

    path = tmp_path / "a.capture"
    path.write_bytes(base_capture(tmp_path / "base"))
    with open_library(url) as library:
        adding.write_batch(library, [read_facts(path)])
        library.computer = "another shop"
        path = path.rename(tmp_path / "b.capture")
        (added,) = adding.write_batch(library, [read_facts(path)])
        # What is at a path of another computer cannot be seen from here: the entry stays with it.
        assert added.deed == adding.COPY
        assert count(library, Wanted()) == 1


def test_a_server_that_goes_away_gets_a_sentence_without_the_password(url):
    hidden = url.replace("rockhold@", "rockhold:secret@")
    with open_library(hidden) as library:
        assert "secret" not in library.where
        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        with library.reading() as connection:  # a connection that died is made anew
            assert version_of(connection) == NEWEST
    gone = url + "/nowhere"  # another folder for the socket
    with pytest.raises(LibraryError, match="run the command again"), open_library(gone):
        pass

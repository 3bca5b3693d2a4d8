import pytest

from rockhold.library.index import open_library
from support_postgres import running_server


@pytest.fixture(scope="session")
def postgres():
    with running_server() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request, tmp_path):
    """Path or URL of an index that does not exist yet."""
    if request.param == "sqlite":
        return str(tmp_path / "index" / "library.sqlite")
    return request.getfixturevalue("postgres").new_database()


@pytest.fixture
def library(where):
    with open_library(where) as library:
        yield library

"""A PostgreSQL server of our own for the tests.

The system's programs, a folder that is thrown away, no network, and no rights of root.
"""

import contextlib
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import psycopg
import pytest

_NUMBERS = itertools.count(1)


def programs():
    """The folder of initdb and postgres; Debian keeps them off the PATH."""
    found = shutil.which("initdb")
    places = [Path(found).parent] if found else []
    places += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    place = next((one for one in places if (one / "postgres").exists()), None)
    if place is None:
        pytest.skip("no PostgreSQL here; tests/install_packages.sh installs it where it may")
    return place


def unprivileged():
    """What to put before a command so that it runs as somebody else than root."""
    if os.getuid() != 0:
        return [], None
    if not shutil.which("setpriv"):
        pytest.skip("PostgreSQL never runs as root, and there is no setpriv to become another")
    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            user = pwd.getpwnam(name)
            become = [f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups"]
            return ["setpriv", *become], user
    pytest.skip("PostgreSQL never runs as root, and there is nobody else here")
    raise AssertionError


class Server:
    """A running server."""

    def __init__(self, folder):
        self.folder = folder

    def new_database(self):
        """Make an empty database; return its URL."""
        name = f"rockhold_{next(_NUMBERS)}"
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE template0")
        return self.url(name)

    def url(self, name):
        return f"postgresql://rockhold@/{name}?host={self.folder}"


@contextlib.contextmanager
def running_server():
    """Start a server; stop it at the end and take everything away."""
    place = programs()
    prefix, user = unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="rockhold-pg-", dir="/tmp"))  # a socket's path is short
    try:
        if user is not None:
            os.chown(folder, user.pw_uid, user.pw_gid)
        data = folder / "data"
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, "cwd": folder}
        made = subprocess.run(
            [*prefix, place / "initdb", "-D", data, "-U", "rockhold", "-A", "trust", "--no-sync",
             "-E", "UTF8", "--locale=C"],
            **quiet, check=False,
        )  # fmt: skip
        if made.returncode:
            pytest.skip(f"PostgreSQL may not be set up here: {made.stderr.decode().strip()}")
        with (folder / "log").open("wb") as log:
            process = subprocess.Popen(
                [*prefix, place / "postgres", "-D", data, "-k", folder, "-c", "listen_addresses=",
                 "-c", "fsync=off", "-c", "max_connections=40"],
                stdout=log, stderr=log, cwd=folder,
            )  # fmt: skip
        try:
            server = Server(folder)
            _wait_for(server, process)
            yield server
        finally:
            process.terminate()
            process.wait(20)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _wait_for(server, process):
    until = time.monotonic() + 30
    while True:
        try:
            psycopg.connect(server.url("postgres")).close()
            return
        except psycopg.OperationalError:
            if process.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.05)

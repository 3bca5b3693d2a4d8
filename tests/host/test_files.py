"""A file is put in place whole or not at all."""

import errno
import os

import pytest

from rockhold.files import beside, write_whole


def test_a_file_takes_the_others_place_and_leaves_nothing_beside(tmp_path):
    path = tmp_path / "made" / "a.toml"
    write_whole(path, b"one\n")
    beside(path).write_bytes(b"an earlier try")
    write_whole(path, b"two\r\n", mode=0o600)
    assert path.read_bytes() == b"two\r\n"
    assert path.stat().st_mode & 0o777 == 0o600
    assert os.listdir(path.parent) == ["a.toml"]  # noqa: PTH208


def test_no_link_in_its_place_is_followed(tmp_path):
    other = tmp_path / "other"
    other.write_bytes(b"untouched")
    beside(tmp_path / "a").symlink_to(other)
    write_whole(tmp_path / "a", b"new")
    assert other.read_bytes() == b"untouched"


def test_an_earlier_try_is_respected_where_that_is_asked_for(tmp_path):
    beside(tmp_path / "a").write_bytes(b"theirs")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "a", b"new", alone=True)
    assert beside(tmp_path / "a").read_bytes() == b"theirs"


def test_a_full_disk_leaves_what_was_there(tmp_path, monkeypatch):
    path = tmp_path / "a"
    path.write_bytes(b"old")

    def full(_descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert not beside(path).exists()

import os

from rockhold.capture.folders import files_in, is_gone


def test_folders_are_searched_and_files_taken_as_named(tmp_path):
    (tmp_path / "deep").mkdir()
    for name in ("b.capture", "a.capture", "deep/c.capture", "note.txt"):
        (tmp_path / name).write_text("x")
    names = [str(path.relative_to(tmp_path)) for path in files_in([tmp_path])]
    assert names == ["a.capture", "b.capture", "deep/c.capture"]
    assert files_in([tmp_path / "note.txt", tmp_path / "none"]) == [
        tmp_path / "note.txt",
        tmp_path / "none",
    ]


def test_a_folder_that_may_not_be_entered_is_named_and_not_passed_over(tmp_path, monkeypatch):
    for name in ("open", "closed"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a.capture").write_text("x")
    real = os.scandir

    def guarded(path):  # the tests may run as root, to whom no folder is closed
        if os.fspath(path).endswith("closed"):
            raise PermissionError(13, "Permission denied", os.fspath(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", guarded)
    assert files_in([tmp_path]) == [tmp_path / "closed", tmp_path / "open" / "a.capture"]


def test_what_may_not_be_looked_at_is_not_gone(tmp_path):
    class Closed(type(tmp_path)):
        def stat(self, **_):
            raise PermissionError(13, "Permission denied", str(self))

    assert is_gone(tmp_path / "none")
    assert is_gone(tmp_path / "none" / "below")
    assert not is_gone(tmp_path)
    assert not is_gone(Closed(tmp_path / "none"))

from rockhold.capture.folders import files_in


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

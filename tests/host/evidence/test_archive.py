import multiprocessing

from rockhold.evidence import archive
from rockhold.evidence.archive import PARALLEL_FROM, files_in, verify_all
from support_evidence import TRUST, make_capture


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


def test_many_files_come_back_in_order_from_all_processors(tmp_path, monkeypatch):
    monkeypatch.setattr(archive.os, "cpu_count", lambda: 2)
    good = make_capture(tmp_path / "good.capture").read_bytes()
    files = []
    for number in range(PARALLEL_FROM + 25):
        path = tmp_path / f"{number:03}.capture"
        path.write_bytes(good if number % 3 else good[:-number] if number else b"")
        files.append(path)
    found = list(verify_all(files, TRUST))
    assert [one.file for one in found] == [str(path) for path in files]
    assert [one.state == "good" for one in found] == [bool(n % 3) for n in range(len(files))]
    assert not multiprocessing.active_children()


def test_one_processor_needs_no_other_process(tmp_path, monkeypatch):
    monkeypatch.setattr(archive.os, "cpu_count", lambda: 1)
    path = make_capture(tmp_path / "good.capture")
    assert [one.state for one in verify_all([path] * (PARALLEL_FROM + 1), TRUST)] == (
        ["good"] * (PARALLEL_FROM + 1)
    )

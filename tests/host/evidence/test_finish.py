import base64

import pytest

from rockhold.capture.reader import parse_capture
from rockhold.errors import CaptureWriteError, SignatureError, UsageError
from rockhold.evidence import findings as f
from rockhold.evidence import finish as finishing
from rockhold.evidence.finish import finish_later
from rockhold.evidence.verify import verify_file
from support_evidence import TECHNICIAN, TRUST, lines_of, make_capture, without_seals


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return make_capture(tmp_path_factory.mktemp("c") / "a.capture").read_bytes()


def recovered(tmp_path, data):
    path = tmp_path / "cut.capture"
    path.write_bytes(data)
    return path, finish_later(path, TECHNICIAN)


def test_a_capture_cut_short_at_any_byte_loses_at_most_its_last_line(whole, tmp_path):
    first = whole.index(b"\n") + 1
    for at in range(first, len(without_seals(whole)), 607):
        cut = whole[:at]
        path, done = recovered(tmp_path, cut)
        data = path.read_bytes()
        kept = cut[: cut.rfind(b"\n") + 1]
        assert data.startswith(kept)
        notes = parse_capture(path, data).of_kind("note")
        torn = b"".join(base64.b64decode(note["torn"]) for note in notes)
        assert kept + torn == cut  # nothing is lost, the cut line neither
        assert done.torn_bytes == len(torn)
        found = verify_file(path, TRUST)
        assert found.state == (f.GOOD if done.board_signed else f.UNSEALED), at
        assert found.sealed_lines == found.lines
        path.unlink()


@pytest.mark.parametrize("torn", [b"", b'{"seal":"eyJ', b'{"marks":"abc'])
def test_a_capture_whose_seal_was_cut_is_sealed_again(whole, torn, tmp_path):
    for above in (without_seals(whole), b"".join(lines_of(whole)[:-1])):
        path, done = recovered(tmp_path, above + torn)
        assert verify_file(path, TRUST).state == f.GOOD
        assert path.read_bytes().startswith(above)
        assert done.result is None  # it stood there already
        assert done.recovered == bool(torn)
        path.unlink()


def test_zeros_that_a_crashed_disk_leaves_behind_are_kept_in_notes(whole, tmp_path):
    path, done = recovered(tmp_path, without_seals(whole) + bytes(1_200_000))
    assert done.torn_bytes == 1_200_000
    assert len(parse_capture(path, path.read_bytes()).of_kind("note")) == 3
    assert verify_file(path, TRUST).state == f.GOOD


def test_what_is_sealed_to_its_end_is_left_alone(whole, tmp_path):
    path = tmp_path / "a.capture"
    path.write_bytes(whole)
    with pytest.raises(UsageError, match="nothing to finish"):
        finish_later(path, TECHNICIAN)
    assert path.read_bytes() == whole
    remark = b'{"entry":"remark","by":"A. Miller","text":"later"}\n'
    path, _ = recovered(tmp_path, whole + remark)
    assert path.read_bytes().startswith(whole + remark)
    assert verify_file(path, TRUST).state == f.GOOD


def test_damage_is_never_sealed_over(whole, tmp_path):
    path = tmp_path / "a.capture"
    for changed in (
        without_seals(whole).replace(b"T-118", b"T-119"),
        whole.replace(b"T-118", b"T-119") + b"{",
    ):
        path.write_bytes(changed)
        with pytest.raises(SignatureError, match="is damaged, and a seal"):
            finish_later(path, TECHNICIAN)
        assert path.read_bytes() == changed


def test_a_disk_that_refuses_leaves_the_file_as_it_was(whole, tmp_path, monkeypatch):
    path = tmp_path / "a.capture"
    above = without_seals(whole)
    path.write_bytes(above)

    def refuse(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(finishing.os, "fsync", refuse)
    for data in (above, above + b"torn"):
        path.write_bytes(data)
        with pytest.raises(CaptureWriteError, match="No space left"):
            finish_later(path, TECHNICIAN)
        assert path.read_bytes() == data
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_another_program_writes_is_left_alone(whole, tmp_path):
    path = tmp_path / "a.capture"
    path.write_bytes(whole)
    with pytest.raises(CaptureWriteError, match="another program"):
        finishing.append(path, whole[:-5], b"x\n")
    (tmp_path / "a.capture.new").write_bytes(b"")
    with pytest.raises(CaptureWriteError, match="in the way"):
        finishing.replace(path, b"x\n")
    assert path.read_bytes() == whole

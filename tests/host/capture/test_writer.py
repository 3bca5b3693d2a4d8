import json

import pytest

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import CaptureWriteError


def test_lines_stand_whole_and_in_order(tmp_path):
    with CaptureWriter(tmp_path / "new" / "a.capture") as writer:
        writer.append({"rockhold": "capture", "vehicle": "Büssing-frei"})
        writer.record(b"\x01\x02", 5)
        writer.note("link_lost", 6, because="x")
        writer.sync()
        lines = (tmp_path / "new" / "a.capture").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line) for line in lines] == [
        {"rockhold": "capture", "vehicle": "Büssing-frei"},
        {"record": "AQI=", "host_utc_us": 5},
        {"note": "link_lost", "host_utc_us": 6, "because": "x"},
    ]
    assert lines[0].startswith('{"rockhold"')


def test_an_existing_file_is_left_alone(tmp_path):
    path = tmp_path / "a.capture"
    path.write_text("precious")
    with pytest.raises(CaptureWriteError, match="never overwritten"):
        CaptureWriter(path)
    assert path.read_text() == "precious"


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CaptureWriteError, match="cannot make"):
        CaptureWriter(tmp_path / "file" / "a.capture")


def test_going_on_takes_away_only_a_line_cut_short(tmp_path):
    path = tmp_path / "a.capture"
    path.write_bytes(b'{"a":1}\n{"b":2}\n{"tor')
    with CaptureWriter.again(path) as writer:
        writer.append({"c": 3})
    assert path.read_bytes() == b'{"a":1}\n{"b":2}\n{"c":3}\n'


def test_a_disk_that_refuses_leaves_whole_lines(tmp_path):
    class FullDisk:
        """A file on a disk with room for ten more bytes."""

        def __init__(self, file):
            self.file = file
            self.room = 10

        def write(self, data):
            if not self.room:
                raise OSError(28, "No space left on device")
            fitting, self.room = data[: self.room], 0
            return self.file.write(fitting)

        def __getattr__(self, name):
            return getattr(self.file, name)

    path = tmp_path / "a.capture"
    with CaptureWriter(path) as writer:
        writer.append({"a": 1})
        writer._file = FullDisk(writer._file)
        with pytest.raises(CaptureWriteError, match="No space left"):
            writer.append({"b": "far too long for ten bytes"})
    assert path.read_bytes() == b'{"a":1}\n'

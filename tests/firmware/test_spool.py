import os
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from rockboard.spool import RESERVE_BYTES, TAIL_MOST, Spool
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.sender import Sender

NONCE = b"n" * 16


class Capture:
    """Records of one capture, put into a sender."""

    def __init__(self, nonce=NONCE, ring=8_192):
        self.sender = Sender(bytearray(ring))
        self.chain = Chain(nonce)
        self.packets = []

    def put(self, count):
        for _ in range(count):
            number = self.sender.next_number
            body = frames.record_body(m.Event(0, 0, number, number * 7), number)
            packet = frames.pack_record(body, self.chain.extend(body))
            assert self.sender.fits(len(packet))
            self.sender.put(packet)
            self.packets.append(packet)


@pytest.fixture
def spool(tmp_path):
    spool = Spool(str(tmp_path / "spool"))
    yield spool
    spool.end()


def all_of(spool, number):
    reader = spool.reader(number)
    packets = [reader.read(at) for at in range(reader.first, reader.count()[0])]
    reader.close()
    return packets


def test_records_go_through_the_tail_into_the_file_and_come_back(spool):
    capture = Capture()
    spool.begin(NONCE)
    for count in (1, 5, 40, 2):
        capture.put(count)
        assert spool.save(capture.sender)
        assert capture.sender.unsaved == 0
        assert all_of(spool, 1) == capture.packets
    assert spool.find(NONCE) == 1
    assert spool.find(b"x" * 16) is None


def test_what_the_ring_let_go_is_sent_from_flash(spool):
    capture = Capture(ring=1_024)
    capture.sender.store = spool
    spool.begin(NONCE)
    for _ in range(60):
        capture.put(3)
        spool.save(capture.sender)
    got = []
    while (packet := capture.sender.take()) is not None:
        got.append(packet)
        if len(got) % 5 == 3:  # a host that misses something now and then
            capture.sender.go_back()
            got = got[: capture.sender.oldest]
            capture.sender.acknowledge(min(len(got) + 2, 180))
            got = capture.packets[: capture.sender.oldest]
        else:
            capture.sender.acknowledge(len(got))
    assert got == capture.packets


def test_what_a_host_took_live_is_not_written_and_the_rest_begins_anew(spool, tmp_path):
    capture = Capture()
    spool.begin(NONCE)
    capture.put(4)
    spool.save(capture.sender)
    capture.put(10)
    capture.sender.acknowledge(12)
    spool.save(capture.sender)
    reader = spool.reader(1)
    assert (reader.first, reader.count()[0]) == (12, 14)
    assert all_of(spool, 1) == capture.packets[12:]


def test_a_restarted_board_finds_its_captures_and_counts_on(spool, tmp_path):
    capture = Capture()
    spool.begin(NONCE)
    capture.put(3)
    spool.save(capture.sender)
    again = Spool(str(tmp_path / "spool"))
    assert again.numbers() == [1]
    again.begin(b"m" * 16)
    other = Capture(b"m" * 16)
    other.put(1)
    again.save(other.sender)
    assert again.numbers() == [1, 2]
    assert all_of(again, 1) == capture.packets
    again.end()


def fill(spool, monkeypatch, captures, fetched):
    """Keep captures, mark some as fetched, and make the flash look as if each took 20 KB."""

    def statvfs(folder):
        used = len({path.name[:6] for path in Path(folder).iterdir()}) * 20_480
        return (4_096, 4_096, 40, (163_840 - used) // 4_096)

    monkeypatch.setattr("rockboard.spool.os", SimpleNamespace(**{
        name: getattr(os, name) for name in ("listdir", "remove", "rename", "mkdir")
    }, statvfs=statvfs))  # fmt: skip
    for index in range(captures):
        nonce = bytes([index]) * 16
        capture = Capture(nonce)
        spool.begin(nonce)
        capture.put(2)
        spool.save(capture.sender, True)
        spool.end()
        if index + 1 in fetched:
            spool.mark_fetched(index + 1)


def test_the_oldest_fetched_capture_goes_first_and_no_other(spool, monkeypatch):
    fill(spool, monkeypatch, 8, fetched={2, 4, 5})
    assert RESERVE_BYTES > 163_840 - 7 * 20_480
    spool.begin(NONCE)
    assert spool.numbers() == [1, 3, 5, 6, 7, 8]
    assert not spool.full


def test_a_flash_full_of_captures_that_nobody_has_says_so_and_deletes_none(spool, monkeypatch):
    fill(spool, monkeypatch, 7, fetched=set())
    spool.begin(NONCE)
    assert spool.full
    capture = Capture()
    capture.put(2)
    assert not spool.save(capture.sender)
    assert capture.sender.unsaved == 2
    assert spool.numbers() == [1, 2, 3, 4, 5, 6, 7]
    assert spool.save(capture.sender, True)  # the close of a capture has room of its own
    spool.end()
    spool.mark_fetched(1)
    assert spool.full
    spool.mark_fetched(2)
    assert spool.numbers() == [3, 4, 5, 6, 7, 8]
    assert not spool.full


def test_a_flash_that_fails_loses_nothing_that_is_on_it(spool, monkeypatch):
    capture = Capture()
    spool.begin(NONCE)
    capture.put(3)
    spool.save(capture.sender)

    def broken(*arguments):
        raise OSError(5)

    monkeypatch.setattr("builtins.open", broken)
    capture.put(5)
    assert not spool.save(capture.sender)
    assert not spool.save(capture.sender)
    assert spool.full
    monkeypatch.undo()
    spool.end()
    kept = all_of(spool, 1)
    assert len(kept) == capture.sender.saved == 3
    assert kept == capture.packets[: len(kept)]


def test_rubbish_in_the_folder_is_no_capture(tmp_path):
    folder = tmp_path / "spool"
    folder.mkdir()
    (folder / "notes.txt").write_text("hello")
    (folder / "000003.cap").write_bytes(b"RHC1 too short")
    (folder / "000004.tail").write_bytes(b"")
    spool = Spool(str(folder))
    assert spool.numbers() == [3, 4]
    assert spool.reader(3).count() == (0, 0)
    assert spool.reader(3).nonce is None
    assert spool.reader(4).read(0) is None


def test_the_tail_stays_small_enough_for_littlefs_to_keep_it_inline(spool, tmp_path):
    capture = Capture()
    spool.begin(NONCE)
    for _ in range(50):
        capture.put(1)
        spool.save(capture.sender)
        path = tmp_path / "spool" / "000001.tail"
        assert not path.exists() or path.stat().st_size <= TAIL_MOST + 24 <= 512


def test_what_reads_makes_room_for_a_signature_and_is_loaded_anew(spool):
    capture = Capture()
    spool.begin(NONCE)
    capture.put(5)
    assert spool.save(capture.sender)
    assert spool.read(0) == capture.packets[0]
    spool.let_go()
    assert "rockboard.spool_reader" not in sys.modules
    assert spool.read(1) == capture.packets[1]

"""From a gauge's edges through MicroPython, a pseudo-terminal and pyserial into a capture."""

import random
import threading
import time

import pytest

from rockhold.capture.lines import to_line
from rockhold.capture.reader import read_capture
from rockhold.capture.trace import frames_of
from rockhold.errors import (
    BoardChangedError,
    CaptureFormatError,
    LinkLostError,
    NoBoardError,
)
from rockhold.links.serial_port import SerialLink
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import procedure_text
from rockhold.record.greeting import greet
from rockhold.record.header import Job, make_header
from rockhold.record.job import record, resume
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.unix_board import UnixBoard
from rockwire import messages as m
from rockwire.receiver import TAKE, Receiver
from support import VECTORS, needs_micropython
from support_board import SHARED, BadLine, recording_edges, show_counts, vector_edges
from support_trace import load_trace

pytestmark = needs_micropython
JOB = Job("A. Tester", "end play", procedure_text())

# What the display showed, per recording of the public-domain sigrok-dumps collection (folder
# `caliper`): value, unit, readings in the recording, and what else the board must say.
RECORDINGS = {
    "caliper-1mm.sr": (-1.00, "mm", 13, ["frame_cut"]),
    "caliper0.0005in.sr": (0.0005, "in", 14, []),
    "caliper0.5mm.sr": (0.50, "mm", 14, []),
    "caliper0in.sr": (0.0, "in", 14, []),
    "caliper0mm.sr": (0.0, "mm", 14, ["line_noise"]),
    "caliper123.45mm.sr": (123.45, "mm", 14, []),
    "caliper5in.sr": (5.0, "in", 14, []),
}


def record_what(board, path, show, device=None):
    """Record while `show` lets the board see edges; it must end with the button."""
    begun = threading.Event()

    def play():
        begun.wait()
        show(board)

    threading.Thread(target=play, daemon=True).start()
    ways = Ways(lambda: SerialLink(device or board.device))
    return record(ways, JOB, path, Onlooker(lambda message: begun.set(), lambda: False))


def assert_shows(path, value, unit, readings, events):
    trace = load_trace(path)
    assert [span.unit for span in trace.spans] == [unit]
    scale = MM_PER_INCH if unit == "in" else 1.0
    assert trace.travel_mm == pytest.approx([value * scale] * readings, abs=1e-9)
    assert [mark.code for mark in trace.marks] == [*events, "button"]


@pytest.mark.parametrize("name", sorted(RECORDINGS))
def test_real_gauges_read_what_their_display_showed(name, tmp_path):
    if not SHARED.is_dir():
        pytest.skip("the whole recordings are not here; the project's own vectors are tested")
    edges = recording_edges(SHARED / name)

    def show(board):
        board.send_edges(edges)
        board.pass_time(1_050_000)
        time.sleep(0.1)
        board.press_button(1_060_000)

    with UnixBoard() as board:
        record_what(board, tmp_path / "a.capture", show)
    assert_shows(tmp_path / "a.capture", *RECORDINGS[name])


@pytest.mark.parametrize("name", [path.name for path in sorted((VECTORS / "clocked24").glob("*"))])
def test_the_projects_own_recordings_read_the_same(name, tmp_path):
    rows = (VECTORS / "clocked24" / name).read_text(encoding="utf-8").splitlines()
    shows = next(row[7:] for row in rows if row.startswith("shows: ")).split()
    expected = [row.split()[2] for row in rows if row.startswith("expect: event ")]
    readings = sum(row.startswith("expect: reading ") for row in rows)

    def show(board):
        edges = vector_edges(name)
        board.send_edges(edges)
        board.pass_time(edges[-1][0] + 50_000)
        time.sleep(0.1)
        board.press_button(edges[-1][0] + 60_000)

    with UnixBoard() as board:
        record_what(board, tmp_path / "a.capture", show)
    assert_shows(tmp_path / "a.capture", float(shows[0]), shows[1], readings, expected)


def test_every_record_is_on_disk_in_order_and_of_one_history(tmp_path):
    def show(board):
        end_us = show_counts(board, range(200))
        board.press_button(end_us)

    with UnixBoard(secret_file=tmp_path / "secret") as board:
        done = record_what(board, tmp_path / "a.capture", show)
    assert done.board_sealed
    capture = read_capture(tmp_path / "a.capture")
    receiver = Receiver(bytes.fromhex(str(capture.header["nonce"])))
    messages = []
    for frame in frames_of(capture):
        assert receiver.judge(frame) == TAKE
        receiver.take(frame)
        messages.append(frame.message)
    assert isinstance(messages[-1], m.Seal)
    assert load_trace(tmp_path / "a.capture").count.tolist() == list(range(200))
    assert capture.of_kind("clock")


@pytest.mark.parametrize("seed", range(3))
def test_noise_cuts_and_merged_frames_on_the_line_lose_nothing(seed, tmp_path):
    rng = random.Random(seed)
    spoilt = []

    def spoil(data):
        if rng.random() > 0.2:
            return data
        spoilt.append(data)
        at = rng.randrange(len(data))
        return [
            data[:at] + bytes((data[at] ^ 1 << rng.randrange(8),)) + data[at + 1 :],
            data[:at],
            data.replace(b"\0", b"", 1),
            data[:at] + rng.randbytes(30) + data[at:],
            data + data,
        ][rng.randrange(5)]

    def show(board):
        end_us = show_counts(board, range(150), pace_s=0.005)
        board.press_button(end_us)

    with UnixBoard() as board, BadLine(board.device, spoil) as line:
        record_what(board, tmp_path / "a.capture", show, line.device)
    assert load_trace(tmp_path / "a.capture").count.tolist() == list(range(150))
    assert spoilt
    notes = read_capture(tmp_path / "a.capture").of_kind("note")
    assert {note["note"] for note in notes} <= {"line_damage"}


def test_a_seal_that_never_comes_is_not_waited_for(tmp_path, monkeypatch):
    # As of a board that had no room to sign: this one has no key, though the host thinks so.
    monkeypatch.setattr("rockhold.record.job._has_key", lambda board: True)
    monkeypatch.setattr("rockhold.record.recorder._STATUS_EVERY_US", 200_000)
    with UnixBoard("bench board") as board:
        outcome = record_what(
            board,
            tmp_path / "a.capture",
            lambda board: board.press_button(show_counts(board, [7]) + 100_000),
        )
    assert (outcome.reason, outcome.board_sealed) == ("button", False)


def greet_state(board):
    """Return the board's state, or None when its port is in use."""
    try:
        link = SerialLink(board.device)
    except NoBoardError as error:
        assert "in use by another program" in str(error)
        return None
    try:
        return greet(link).state
    finally:
        link.close()


class HostDiedError(Exception):
    """What a killed host would be."""


def die_after(path, ways, records):
    """Record until some records are on disk, then die."""
    seen = []

    def watch(message):
        seen.append(message)
        if len(seen) >= records:
            raise HostDiedError

    with pytest.raises(HostDiedError):
        record(ways, JOB, path, Onlooker(watch, lambda: False))


def test_a_board_that_records_for_another_host_is_not_disturbed(tmp_path):
    with UnixBoard() as board:
        ways = Ways(lambda: SerialLink(board.device))
        begun, stop = threading.Event(), threading.Event()
        onlooker = Onlooker(lambda message: begun.set(), stop.is_set)
        worker = threading.Thread(target=record, args=(ways, JOB, tmp_path / "a", onlooker))
        worker.start()
        assert begun.wait(10)
        assert greet_state(board) is None  # the port is held by the first host
        stop.set()
        worker.join()


def test_a_capture_that_a_dead_host_left_running_is_ended_only_when_asked(tmp_path):
    with UnixBoard() as board:
        ways = Ways(lambda: SerialLink(board.device))
        die_after(tmp_path / "a.capture", ways, 2)
        assert greet_state(board) == m.RECORDING
        onlooker = Onlooker(lambda message: None, lambda: True)
        with pytest.raises(NoBoardError, match="--end-other"):
            record(ways, JOB, tmp_path / "b.capture", onlooker)
        assert not (tmp_path / "b.capture").exists()
        ways = Ways(ways.open, may_end_other=True)
        assert record(ways, JOB, tmp_path / "c.capture", onlooker).reason == "host"


def test_a_new_host_goes_on_where_a_dead_one_was(tmp_path):
    path = tmp_path / "a.capture"
    with UnixBoard(secret_file=tmp_path / "secret") as board:
        ways = Ways(lambda: SerialLink(board.device))
        shown = threading.Timer(0.5, show_counts, (board, range(300)))
        shown.start()
        die_after(path, ways, 6)
        shown.join()
        with path.open("ab") as file:
            file.write(b'{"record":"half a li')  # the dead host's last line was cut short
        board.press_button(200_000_000)
        outcome = resume(ways, path, Onlooker(lambda message: None, lambda: False))
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(300))
    assert [note["note"] for note in read_capture(path).of_kind("note")] == ["resumed"]


def test_another_board_cannot_go_on_with_a_capture(tmp_path):
    path = tmp_path / "a.capture"
    with UnixBoard() as board:
        die_after(path, Ways(lambda: SerialLink(board.device)), 2)
    with UnixBoard() as board, pytest.raises(BoardChangedError, match="does not know"):
        resume(Ways(lambda: SerialLink(board.device)), path, Onlooker(print, lambda: False))


@pytest.mark.parametrize("torn", [b"", b'{"rockhold":"cap'])
def test_a_file_that_broke_off_in_its_first_line_says_what_to_do(torn, tmp_path):
    path = tmp_path / "a.capture"
    path.write_bytes(torn)
    with pytest.raises(CaptureFormatError, match="Remove it and record anew"):
        resume(
            Ways(lambda: pytest.fail("no board is needed")), path, Onlooker(print, lambda: False)
        )


def test_a_capture_that_broke_off_before_its_first_record_can_still_begin(tmp_path):
    path = tmp_path / "a.capture"
    with UnixBoard(secret_file=tmp_path / "secret") as board:
        ways = Ways(lambda: SerialLink(board.device))
        link = ways.open()
        header = make_header(JOB, greet(link))  # all that a host had written when it died
        link.close()
        path.write_bytes(to_line(header))

        def show(message):
            if isinstance(message, m.Open):
                board.press_button(show_counts(board, range(20)))

        outcome = resume(ways, path, Onlooker(show, lambda: False))
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(20))


class CutCable(SerialLink):
    """A serial link that breaks after some bytes."""

    left = 0

    def read(self, wait_s):
        """Read until the cable is out."""
        if CutCable.left <= 0:
            self.close()
            raise LinkLostError("the cable is out")
        data = super().read(wait_s)
        CutCable.left -= len(data)
        return data


def test_a_cable_that_comes_out_again_and_again_loses_nothing(tmp_path):
    path = tmp_path / "a.capture"
    said = []
    with UnixBoard(secret_file=tmp_path / "secret") as board:

        def plug():
            CutCable.left = 700
            return CutCable(board.device)

        def show():
            board.press_button(show_counts(board, range(600), pace_s=0.002))

        threading.Timer(0.3, show).start()
        onlooker = Onlooker(lambda message: None, lambda: False, said.append)
        outcome = record(Ways(plug), JOB, path, onlooker)
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(600))
    notes = [note["note"] for note in read_capture(path).of_kind("note")]
    assert notes.count("link_lost") == notes.count("link_back") >= 2
    assert len(said) == 2 * notes.count("link_lost")

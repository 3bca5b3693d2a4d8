"""From a gauge's edges through MicroPython, a pseudo-terminal and pyserial into a capture."""

import random
import threading
import time

import pytest

from rockhold.capture.reader import load_trace, read_capture
from rockhold.capture.trace import frames_of
from rockhold.errors import NoBoardError
from rockhold.links.serial_port import SerialLink
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import procedure_text
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.recorder import greet
from rockhold.simulator.unix_board import UnixBoard
from rockwire import messages as m
from rockwire.receiver import TAKE, Receiver
from support import VECTORS, needs_micropython
from support_board import SHARED, BadLine, recording_edges, show_counts, vector_edges

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
    link = SerialLink(device or board.device)
    try:
        return record(link, JOB, path, lambda message: begun.set(), lambda: False)
    finally:
        link.close()


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
    assert done.outcome.board_sealed
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

    def spoil(data):
        if rng.random() > 0.15:
            return data
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
    notes = read_capture(tmp_path / "a.capture").of_kind("note")
    assert {note["note"] for note in notes} == {"line_damage"}


def test_a_board_that_records_for_another_host_is_not_disturbed(tmp_path):
    with UnixBoard() as board:
        first = SerialLink(board.device)
        recorded = threading.Event()
        stop = threading.Event()
        worker = threading.Thread(
            target=record,
            args=(first, JOB, tmp_path / "a.capture", lambda x: recorded.set(), stop.is_set),
        )
        worker.start()
        assert recorded.wait(10)
        assert greet_state(board) is None  # the port is held by the first host
        stop.set()
        worker.join()
        first.close()


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


def test_a_capture_that_a_dead_host_left_running_is_ended_only_when_asked(tmp_path):
    with UnixBoard() as board:
        begun = threading.Event()
        link = SerialLink(board.device)

        def watch(message):
            begun.set()
            raise ConnectionError  # the host dies

        with pytest.raises(ConnectionError):
            record(link, JOB, tmp_path / "a.capture", watch, lambda: False)
        link.close()
        assert greet_state(board) == m.RECORDING
        link = SerialLink(board.device)
        with pytest.raises(NoBoardError, match="--end-other"):
            record(link, JOB, tmp_path / "b.capture", lambda x: None, lambda: True)
        assert not (tmp_path / "b.capture").exists()
        done = record(link, JOB, tmp_path / "c.capture", lambda x: None, lambda: True, True)
        assert done.outcome.reason == "host"
        link.close()

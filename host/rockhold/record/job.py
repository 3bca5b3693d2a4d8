"""One recording from the first word to the board to the last record on disk, over as many links
as it takes.
"""

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from rockhold.capture.reader import read_capture
from rockhold.capture.writer import CaptureWriter
from rockhold.errors import (
    BoardChangedError,
    CaptureFormatError,
    LinkError,
    LinkLostError,
    NoBoardError,
)
from rockhold.links.base import Link
from rockhold.record.greeting import end_other, greet, let_button_tell
from rockhold.record.header import Job, make_header
from rockhold.record.hosttime import ComputerTime, HostTime
from rockhold.record.recorder import Outcome, Recorder
from rockhold.record.troubles import lost_words
from rockwire import frames
from rockwire import messages as m
from rockwire.errors import FrameError
from rockwire.receiver import TAKE, Receiver

_FIRST_PAUSE_S = 0.1
_LONGEST_PAUSE_S = 1.0
_LONGEST_HEADER = 1 << 20  # bytes of a line, as the capture's format has it


@dataclass(frozen=True, slots=True)
class Ways:
    """How to reach the board, and how long to try.

    Attributes:
        open: Opens a link to the board; raises LinkError when it cannot.
        wait_s: How long a lost board is waited for.
        may_end_other: Whether a capture that the board still records for another may be ended.
        button_tells: Whether a short press of the board's button shall tell, not end the capture.
    """

    open: Callable[[], Link]
    wait_s: float = 30.0
    may_end_other: bool = False
    button_tells: bool = False


Enter = Callable[[Mapping[str, object]], None]


@dataclass(frozen=True, slots=True)
class Onlooker:
    """Who is told what happens.

    Attributes:
        stored: Called with every message of the board as it is stored.
        stop: Asked many times a second; once True, the board is told to close.
        say: Called with a sentence when the link is lost or comes back.
        linked: Called with the name of the link that is in use, "" when there is none.
        opened: Called once with the function that writes an entry into the capture.
    """

    stored: Callable[[tuple[object, ...]], None]
    stop: Callable[[], bool]
    say: Callable[[str], None] = lambda text: None
    linked: Callable[[str], None] = lambda name: None
    opened: Callable[[Enter], None] = lambda enter: None


def record(
    ways: Ways, job: Job, path: Path, onlooker: Onlooker, host: HostTime | None = None
) -> Outcome:
    """Record one capture into a new file.

    Args:
        ways: How to reach the board.
        job: What is known before the first reading.
        path: Where the capture goes; it must not exist.
        onlooker: Who is told what happens.
        host: The host's clocks.

    Raises:
        RockholdError: When it cannot be recorded to its end; what came is in the file.
    """
    host = host or ComputerTime()
    link = ways.open()
    try:
        board = greet(link, host)
        if board.state == m.RECORDING:
            _end_other(link, board, ways, host)
        if ways.button_tells:
            let_button_tell(link, host)
        header = make_header(job, board)
        writer = CaptureWriter(path)
    except BaseException:
        link.close()
        raise
    with writer:
        writer.append(header)
        writer.sync()
        receiver = Receiver(bytes.fromhex(str(header["nonce"])))
        recorder = Recorder(writer, receiver, onlooker.stored, host, _has_key(board))
        onlooker.opened(recorder.enter)
        return _over_links(recorder, link, board.board_id, ways, onlooker, host)


def resume(ways: Ways, path: Path, onlooker: Onlooker, host: HostTime | None = None) -> Outcome:
    """Go on recording into a capture that was broken off, from what is on disk.

    Raises:
        RockholdError: When the file is no unfinished capture, or the board does not know it.
    """
    host = host or ComputerTime()
    header, receiver, messages = on_disk(path)
    link = ways.open()
    try:
        board = greet(link, host)
        if board.nonce != receiver.nonce and not _may_still_start(board, receiver, header):
            raise BoardChangedError(
                f"the board on {link.name} does not know the capture in {path} any more: it was "
                "switched off, has recorded another one since, or is another board. "
                + lost_words(path)
            )
        if ways.button_tells:
            let_button_tell(link, host)
        writer = CaptureWriter.again(path)
    except BaseException:
        link.close()
        raise
    with writer:
        recorder = Recorder(writer, receiver, onlooker.stored, host, _has_key(board))
        for message in messages:
            recorder.recall(message)
        recorder.note("resumed")
        onlooker.opened(recorder.enter)
        return _over_links(recorder, link, board.board_id, ways, onlooker, host)


def _over_links(
    recorder: Recorder,
    link: Link,
    board_id: bytes,
    ways: Ways,
    onlooker: Onlooker,
    host: HostTime,
) -> Outcome:
    while True:
        onlooker.linked(link.name)
        with contextlib.closing(link):
            try:
                return recorder.run(link, onlooker.stop)
            except BoardChangedError as error:
                recorder.note("link_lost", because=str(error))
                raise
            except LinkLostError as error:
                recorder.note("link_lost", because=str(error))
                lost = error
            except KeyboardInterrupt:
                recorder.note("interrupted")
                with contextlib.suppress(LinkError):
                    recorder.break_off(link)
                raise
        onlooker.linked("")
        onlooker.say(f"The link is lost. Waiting {ways.wait_s:g} s for the board to come back …")
        link = _find_again(recorder, board_id, ways, host, lost)
        recorder.note("link_back", over=link.name)
        onlooker.say(f"The board is back on {link.name}. Nothing is lost; going on.")


def _find_again(
    recorder: Recorder, board_id: bytes, ways: Ways, host: HostTime, lost: LinkLostError
) -> Link:
    """Return a new link to the very same board, tried with growing pauses.

    Raises:
        LinkLostError: When it does not come back.
        BoardChangedError: When it comes back without the capture: it was reset meanwhile.
    """
    end_us = host.steady_us() + int(ways.wait_s * 1e6)
    pause_s = _FIRST_PAUSE_S
    while host.steady_us() < end_us:
        with contextlib.suppress(LinkError):
            link = ways.open()
            try:
                board = greet(link, host)
            except LinkError:
                link.close()
                raise
            if board.board_id == board_id:
                if not recorder.is_known_to(board):
                    link.close()
                    break
                return link
            link.close()
        host.pause(pause_s)
        pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)
    else:
        raise lost
    changed = recorder.reset_error(link.name)
    recorder.note("link_lost", because=str(changed))
    raise changed


def _end_other(link: Link, board: m.Ident, ways: Ways, host: HostTime) -> None:
    if not ways.may_end_other:
        raise NoBoardError(
            f"the board on {link.name} is recording another capture (nonce {board.nonce.hex()}). "
            "End it with the board's button, go on with it by `rockhold record --resume FILE`, or "
            "add --end-other: its readings that no host has yet are then lost"
        )
    end_other(link, host)


def _has_key(board: m.Ident) -> bool:
    return any(board.public_key)


def _may_still_start(board: m.Ident, receiver: Receiver, header: Mapping[str, object]) -> bool:
    """Say whether a capture that broke off before its first record can begin now."""
    meant = header.get("board")
    same = isinstance(meant, dict) and meant.get("id") == board.board_id.hex()
    return same and receiver.next_number == 0 and board.state != m.RECORDING


def on_disk(
    path: Path,
) -> tuple[Mapping[str, object], Receiver, list[tuple[object, ...] | None]]:
    """Return header, receiver and messages of what a broken-off capture has on disk."""
    messages = []
    if path.is_file() and b"\n" not in path.read_bytes()[:_LONGEST_HEADER]:
        raise CaptureFormatError(
            f"{path} broke off before anything was recorded into it: there is nothing to go on "
            "with. Remove it and record anew"
        )
    capture = read_capture(path)
    if capture.seals or capture.of_kind("result"):
        raise CaptureFormatError(f"{path} is finished; nothing is added to it. Record a new one")
    try:
        receiver = Receiver(bytes.fromhex(str(capture.header["nonce"])))
        for record_line in capture.records:
            frame = frames.unpack(record_line.packet)
            if frame.number is None or receiver.judge(frame) != TAKE:
                raise CaptureFormatError(
                    f"{path}: the record on line {record_line.line} does not follow the one before",
                    record_line.line,
                )
            receiver.take(frame)
            messages.append(frame.message)
    except (FrameError, KeyError, ValueError) as error:
        raise CaptureFormatError(f"{path} cannot be gone on with: {error}") from error
    return capture.header, receiver, messages

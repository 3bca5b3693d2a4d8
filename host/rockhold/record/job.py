"""One recording from the first word to the board to the last record on disk: begun, or resumed."""

from pathlib import Path

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import BoardChangedError, NoBoardError
from rockhold.record.begun import file_with, may_still_start, on_disk
from rockhold.record.greeting import end_other, greet, let_button_tell
from rockhold.record.header import Job, make_header
from rockhold.record.hosttime import ComputerTime, HostTime
from rockhold.record.recorder import Outcome, Recorder
from rockhold.record.relink import over_links
from rockhold.record.troubles import lost_words
from rockhold.record.ways import Onlooker, Ways
from rockhold.typed import typed
from rockwire import messages as m
from rockwire.receiver import Receiver


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
        if not ways.may_end_other:
            refuse_other(link.name, board, path.parent)
        elif board.state == m.RECORDING:
            end_other(link, host)
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
        return over_links(recorder, link, board.board_id, ways, onlooker, host)


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
        if board.nonce != receiver.nonce and not may_still_start(board, receiver, header):
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
        return over_links(recorder, link, board.board_id, ways, onlooker, host)


def refuse_other(name: str, board: m.Ident, folder: Path, reached: str = "") -> None:
    """Make sure that a board is free to begin a capture.

    Args:
        name: The link's name.
        board: What the board says of itself.
        folder: Where the capture that it records may lie.
        reached: The options that name this board, as they are typed.

    Raises:
        NoBoardError: When it records another capture; says which, and what can be done.
    """
    if board.state != m.RECORDING:
        return
    other = file_with(folder, board.nonce)
    if other:
        which, going_on = str(other), f"`rockhold record {typed(other)} --resume{reached}`"
    else:
        which = f"another capture (nonce {board.nonce.hex()})"
        going_on = "`rockhold record FILE --resume` where its file is"
    raise NoBoardError(
        f"the board on {name} is recording {which}. Go on with it: {going_on}; or end it with the "
        "board's button; or add --end-other: its readings that no host has yet are then lost"
    )


def _has_key(board: m.Ident) -> bool:
    return any(board.public_key)

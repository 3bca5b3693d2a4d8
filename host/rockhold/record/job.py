"""One recording from the first word to the board to the last record on disk."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import NoBoardError
from rockhold.links.base import Link
from rockhold.record.header import Job, make_header
from rockhold.record.recorder import Outcome, Recorder, end_other, greet
from rockwire import messages as m


@dataclass(frozen=True, slots=True)
class Recorded:
    """A finished recording and where it lies."""

    path: Path
    outcome: Outcome


def record(
    link: Link,
    job: Job,
    path: Path,
    watch: Callable[[tuple[object, ...]], None],
    stop: Callable[[], bool],
    may_end_other: bool = False,
) -> Recorded:
    """Record one capture.

    Args:
        link: The way to the board.
        job: What is known before the first reading.
        path: Where the capture goes; it must not exist.
        watch: Called with every message as it is stored.
        stop: Asked many times a second; once True, the board is told to close.
        may_end_other: Whether a capture that the board is still recording may be ended.

    Raises:
        RockholdError: When it cannot be recorded to its end; see Recorder.
    """
    board = greet(link)
    if board.state == m.RECORDING:
        if not may_end_other:
            raise NoBoardError(
                f"the board on {link.name} is recording another capture (nonce "
                f"{board.nonce.hex()}). End it with the board's button, or add --end-other: its "
                "readings that no host has yet are then lost"
            )
        end_other(link)
    header = make_header(job, board)
    nonce = bytes.fromhex(str(header["nonce"]))
    with CaptureWriter(path) as writer:
        writer.append(header)
        writer.sync()
        recorder = Recorder(link, writer, nonce, watch)
        return Recorded(path, recorder.run(any(board.public_key), stop))

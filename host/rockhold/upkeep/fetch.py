"""Fetches captures that a board took alone, from its flash into files."""

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from rockhold.capture.lines import SUFFIX
from rockhold.capture.writer import CaptureWriter
from rockhold.errors import (
    BoardChangedError,
    CaptureFormatError,
    LinkLostError,
    NoBoardError,
    RockholdError,
)
from rockhold.links.base import Link
from rockhold.record.begun import on_disk
from rockhold.record.conversation import Answer, Conversation, Damage, Record
from rockhold.record.header import Job, make_header
from rockhold.record.hosttime import HostTime
from rockhold.upkeep.upkeep import Upkeep
from rockwire import messages as m
from rockwire import upkeep as u
from rockwire.receiver import Receiver

_READ_S = 0.05
_HISTORY_LIMIT = 5  # records in a row that belong to another history
_PATIENCE_US = 10_000_000  # the board sends again after one second


@dataclass(frozen=True, slots=True)
class Stored:
    """A capture on the board's flash.

    Attributes:
        nonce: Names the capture.
        first: Number of its first record there; what came before is on some host's disk.
        next_number: One more than that of its last record.
        fetched: Whether a host has it.
        closed: Whether it was ended, by button or host; else the power went.
        sealed: Whether the board signed it.
    """

    nonce: bytes
    first: int
    next_number: int
    fetched: bool
    closed: bool
    sealed: bool


def stored_captures(board: Upkeep) -> Iterator[Stored]:
    """Yield the captures on the board's flash, the oldest first."""
    index = 0
    while True:
        reply = board.ask(u.CaptureReply, u.Captures, index)
        if index >= reply.captures:
            return
        index += 1
        if any(reply.nonce):
            yield Stored(
                reply.nonce,
                reply.first,
                reply.next_number,
                bool(reply.flags & u.FETCHED),
                bool(reply.flags & u.CLOSED),
                bool(reply.flags & u.SEALED),
            )


def file_of(folder: Path, stored: Stored) -> Path:
    """Return where a fetched capture goes."""
    return folder / f"board-{stored.nonce.hex()[:12]}{SUFFIX}"


def begun_file(folder: Path, stored: Stored) -> Path | None:
    """Return the unfinished capture in a folder that this is the rest of, or None."""
    for path in sorted(folder.glob(f"*{SUFFIX}")):
        with contextlib.suppress(RockholdError, OSError):
            _, receiver, _ = on_disk(path)
            if receiver.nonce == stored.nonce and receiver.next_number >= stored.first:
                return path
    return None


def fetch(
    board: Upkeep,
    who: m.Ident,
    stored: Stored,
    folder: Path,
    job: Job,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> Path:
    """Fetch one capture into a file and return it; each record is on disk before the board is told.

    A capture whose begin a host has already is added to that host's file.

    Args:
        board: The way to the board.
        who: The board.
        stored: Which capture.
        folder: Where to.
        job: What the header says.
        progress: Called with how many records came, and how many there are.

    Raises:
        RockholdError: When it cannot be fetched to its end; what came is in the file, and the
            board keeps the capture.
    """
    begun = begun_file(folder, stored)
    if begun is not None:
        _, receiver, _ = on_disk(begun)
        with CaptureWriter.again(begun) as writer:
            writer.note("fetched", board.host.utc_us(), from_record=receiver.next_number)
            _pull(board.link, board.host, writer, receiver, stored, progress)
        return begun
    _refuse_rest(stored)
    path = file_of(folder, stored)
    header = {**make_header(job, who), "nonce": stored.nonce.hex()}
    with CaptureWriter(path) as writer:
        writer.append(header)
        writer.sync()
        _pull(board.link, board.host, writer, Receiver(stored.nonce), stored, progress)
    return path


def _refuse_rest(stored: Stored) -> None:
    if stored.first:
        raise CaptureFormatError(
            f"the board holds only the rest of capture {stored.nonce.hex()[:12]}, from record "
            f"{stored.first} on; its begin is in a file of the host that recorded it. Fetch into "
            "the folder with that file: rockhold board fetch --folder FOLDER"
        )


def _pull(
    link: Link,
    host: HostTime,
    writer: CaptureWriter,
    receiver: Receiver,
    stored: Stored,
    progress: Callable[[int, int], None],
) -> None:
    talk = Conversation(receiver, guard=link.guard)
    talk.ask(m.Resume, host.steady_us(), receiver.nonce, receiver.next_number)
    strange = 0
    last_us = host.steady_us()
    while receiver.next_number < stored.next_number:
        link.write(talk.take_outgoing())
        came = list(talk.feed(link.read(_READ_S), host.steady_us()))
        packets = [event.frame.packet for event in came if isinstance(event, Record)]
        if packets:
            for packet in packets:
                writer.record(packet, host.utc_us())
            writer.sync()
            talk.stored()
            last_us = host.steady_us()
            progress(receiver.next_number, stored.next_number)
        for event in [*came, *talk.pass_time(host.steady_us())]:
            if isinstance(event, Answer):
                _mind(event, link)
            elif isinstance(event, Damage) and event.reason == "chain":
                strange += 1
        if host.steady_us() - last_us > _PATIENCE_US:
            raise LinkLostError(
                f"the board on {link.name} sends no more of this capture after record "
                f"{receiver.next_number}. What came is in {writer.path}; fetch again"
            )
        if strange > _HISTORY_LIMIT:
            raise BoardChangedError(
                f"what the board on {link.name} holds is not the rest of {writer.path}: it was "
                "reset and began anew. Move that file elsewhere, then fetch again"
            )
    link.write(talk.take_outgoing())


def _mind(answer: Answer, link: Link) -> None:
    if answer.reply is None:
        raise LinkLostError(
            f"the board on {link.name} stopped answering. Check cable and power, then fetch again"
        )
    if isinstance(answer.reply, m.Done) and answer.reply.result:
        raise NoBoardError(
            f"the board on {link.name} does not send this capture: "
            f"{m.RESULTS.get(answer.reply.result, 'for a reason of its own')}. While it records, "
            "nothing can be fetched: end the recording first"
        )

"""A capture that broke off, as it lies on disk: what it holds, and which board's it is."""

import contextlib
import json
from collections.abc import Mapping
from pathlib import Path

from rockhold.capture.lines import SUFFIX
from rockhold.capture.reader import read_capture
from rockhold.errors import CaptureFormatError
from rockwire import frames
from rockwire import messages as m
from rockwire.errors import FrameError
from rockwire.receiver import TAKE, Receiver

_LONGEST_HEADER = 1 << 20  # bytes of a line, as the capture's format has it


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


def may_still_start(board: m.Ident, receiver: Receiver, header: Mapping[str, object]) -> bool:
    """Say whether a capture that broke off before its first record can begin now."""
    meant = header.get("board")
    same = isinstance(meant, dict) and meant.get("id") == board.board_id.hex()
    return same and receiver.next_number == 0 and board.state != m.RECORDING


def file_with(folder: Path, nonce: bytes) -> Path | None:
    """Return the capture of this nonce in a folder, None when it is not there."""
    for path in sorted(folder.glob(f"*{SUFFIX}")):
        with contextlib.suppress(OSError, ValueError), path.open("rb") as file:
            header = json.loads(file.readline(_LONGEST_HEADER))
            if isinstance(header, dict) and header.get("nonce") == nonce.hex():
                return path
    return None

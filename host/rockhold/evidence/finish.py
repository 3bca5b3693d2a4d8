"""Finishes a capture: the result, then the seal of the person who recorded it."""

import base64
import os
import time
from dataclasses import dataclass
from pathlib import Path
from stat import S_IMODE

from rockhold import __version__
from rockhold.capture.lines import to_line
from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.errors import CaptureWriteError, MeasurementError, SignatureError, UsageError
from rockhold.evidence.boardproof import BoardProof, check_records
from rockhold.evidence.keys import Signer
from rockhold.evidence.method import METHOD
from rockhold.evidence.result import measure_capture
from rockhold.evidence.seal import check_seal, find_seals, make_seal
from rockhold.evidence.structure import check_structure
from rockhold.files import beside, write_whole
from rockhold.measure.result import EndPlayResult, not_measured
from rockhold.typed import typed
from rockhold.utc import now_utc

_TORN_PIECE = 500_000  # bytes of a torn line in one note; in base64 it stays below a line's limit


def finish(path: Path, signer: Signer | None, signed_utc: str) -> EndPlayResult:
    """Measure what is on disk and append the result and, with a signer, the seal.

    The file is read back first: what is measured is what is there, not what was in memory.

    Raises:
        RockholdError: When the capture cannot be read or written.
    """
    above = read_bytes(path)
    result, addition = _result_line(parse_capture(path, above))
    if signer is not None:
        addition += _seal(above + addition, signer, signed_utc)
    append(path, above, addition)
    return result


@dataclass(frozen=True, slots=True)
class Finished:
    """A capture that was finished later.

    Attributes:
        recovered: Whether it had been cut short.
        torn_bytes: Bytes of the last line that were kept in a note.
        board_signed: Whether the board had signed before the recording broke off.
        result: The result, None when the file held one already.
    """

    recovered: bool
    torn_bytes: int
    board_signed: bool
    result: EndPlayResult | None


def finish_later(path: Path, signer: Signer) -> Finished:
    """Seal a capture that was left unsealed, whole or cut short at any byte.

    Raises:
        UsageError: When it is sealed to its end already.
        CaptureError: When it is damaged, or cannot be read or written.
    """
    data = read_bytes(path)
    capture = parse_capture(path, data)
    proof = checked_for_sealing(path, data, capture)
    whole, torn = data[: capture.whole_size], data[capture.whole_size :]
    if not torn and capture.seals and whole.rfind(b"\n", 0, -1) + 1 == _start_of_last_seal(whole):
        raise UsageError(f"{path} is sealed to its end already; there is nothing to finish")
    measured = bool(capture.of_kind("result"))
    recovered = bool(torn) or not measured
    addition = b"".join(_recovered_notes(torn)) if recovered else b""
    result = None
    if not measured:
        result, line = _result_line(capture)
        addition += line
    addition += _seal(whole + addition, signer, now_utc())
    if torn:
        replace(path, whole + addition)
    else:
        append(path, data, addition)
    return Finished(recovered, len(torn), proof.sealed, result)


def checked_for_sealing(path: Path, data: bytes, capture: Capture) -> BoardProof:
    """Return what the board's records prove, of a file that nobody would be fooled into sealing.

    Raises:
        SignatureError: When something above is damaged.
    """
    try:
        seals = find_seals(data)
        for seal in seals:
            check_seal(data, seal)
        check_structure(data, capture, seals[-1].end if seals else 0)
        return check_records(capture, data[: data.find(b"\n") + 1])
    except SignatureError as error:
        raise SignatureError(
            f"{path} is damaged, and a seal would only cover that up. Line {error.line} (from byte "
            f"{error.byte}): {error}. `rockhold verify {typed(path)}` tells more",
            error.line,
            error.byte,
        ) from error


def append(path: Path, above: bytes, addition: bytes) -> None:
    """Add lines to a file of which `above` is known to be all; on disk when this returns.

    Raises:
        CaptureWriteError: When the file changed meanwhile or the disk refuses; it is then
            as before.
    """
    try:
        with path.open("r+b", buffering=0) as file:
            if file.seek(0, os.SEEK_END) != len(above):
                raise CaptureWriteError(f"{path} is being written by another program; try again")
            try:
                written = file.write(addition)
                if written != len(addition):
                    file.write(addition[written:])  # a full disk says so at this second try
                os.fsync(file.fileno())
            except OSError:
                file.truncate(len(above))
                raise
    except OSError as error:
        raise CaptureWriteError(
            f"cannot finish {path}: {error.strerror}. What it holds is safe; `rockhold seal "
            f"{path}` finishes it later"
        ) from error


def replace(path: Path, data: bytes) -> None:
    """Put a file in another's place, whole or not at all.

    Raises:
        CaptureWriteError: When the disk refuses; the file is then as before.
    """
    try:
        write_whole(path, data, S_IMODE(path.stat().st_mode), alone=True)
    except FileExistsError as error:
        raise CaptureWriteError(
            f"{beside(path)} is in the way: an earlier try broke off. Move it away, then try again"
        ) from error
    except OSError as error:
        raise CaptureWriteError(
            f"cannot finish {path}: {error.strerror}. It is as it was"
        ) from error


def _result_line(capture: Capture) -> tuple[EndPlayResult, bytes]:
    try:
        result = measure_capture(capture)
    except MeasurementError as error:
        result = not_measured(str(error))
    software = f"rockhold {__version__}"
    line = {"result": result.to_json(), "method": METHOD, "software": software}
    return result, to_line(line)


def _seal(above: bytes, signer: Signer, signed_utc: str) -> bytes:
    return make_seal(above, signer.key, signer.role, signer.name, signed_utc)


def _recovered_notes(torn: bytes) -> list[bytes]:
    now_us = time.time_ns() // 1000
    pieces = [torn[at : at + _TORN_PIECE] for at in range(0, len(torn), _TORN_PIECE)] or [b""]
    return [
        to_line(
            {
                "note": "recovered",
                "host_utc_us": now_us,
                "torn_bytes": len(piece),
                "torn": base64.b64encode(piece).decode(),
            }
        )
        for piece in pieces
    ]


def _start_of_last_seal(data: bytes) -> int:
    return data.rfind(b'\n{"seal":') + 1

"""What the board itself proves: its records are whole, in order, of one capture, and signed by it.

Steps and their order are those of protocol/README.md, part 2.
"""

from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from rockhold.capture.binding import nonce_for
from rockhold.capture.packets import fault_of, unpacked
from rockhold.capture.reader import Capture, RecordLine
from rockhold.errors import SignatureError
from rockhold.evidence.keyfile import board_id_of
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain, seal_text
from rockwire.errors import FrameError

_FROM_HOST = 0


@dataclass(frozen=True, slots=True)
class BoardProof:
    """What was found out about the board.

    Attributes:
        board_id: As the header and the first record say, hexadecimal.
        name: The board's name, as the header says.
        public: Its key, as header and seal say; None for a board without one.
        records: How many records there are.
        last_line: Line of the last of them, 0 without any.
        closed: Whether the board closed the capture.
        sealed: Whether the board signed the records.
        header_bound: Whether its signature covers line 1, too.
    """

    board_id: str
    name: str
    public: bytes | None
    records: int
    last_line: int
    closed: bool
    sealed: bool
    header_bound: bool


def check_records(capture: Capture, line_1: bytes) -> BoardProof:
    """Check the board's records and return what they prove.

    Args:
        capture: The lines of the file.
        line_1: The bytes of its first line, LF included.

    Raises:
        SignatureError: At the first line that does not fit.
    """
    nonce = _nonce_of(capture)
    told = _told_board(capture)
    chain = Chain(nonce)
    opened: m.Open | None = None
    closed, seal_line = False, None
    for record in capture.records:
        if seal_line is not None:
            raise _fault(record, "a record stands below the board's seal")
        frame = _frame_of(record, chain)
        if chain.count == 0:
            opened = _check_open(record, frame, nonce, told, line_1)
        if isinstance(frame.message, m.Seal):
            _check_seal(record, frame, told, nonce, chain)
            seal_line = record
        elif chain.extend(frames.body_of(record.packet)) != frame.tag:
            raise _fault(record, _OTHER_HISTORY)
        closed |= isinstance(frame.message, m.Close)
    bound = opened is not None and opened.origin == _FROM_HOST
    return BoardProof(
        told.board_id,
        told.name,
        told.public,
        len(capture.records),
        capture.records[-1].line if capture.records else 0,
        closed,
        seal_line is not None,
        seal_line is not None and bound,
    )


_OTHER_HISTORY = (
    "this record does not follow from those above it: the board did not send them in this order, "
    "or one of them was changed or comes from elsewhere"
)


@dataclass(frozen=True, slots=True)
class _Told:
    board_id: str
    public: bytes | None
    name: str


def _nonce_of(capture: Capture) -> bytes:
    try:
        return _digits(capture.header.get("nonce"), m.NONCE_SIZE)
    except ValueError as error:
        raise SignatureError("the header has no nonce of 32 hexadecimal digits", 1, 0) from error


def _digits(text: object, size: int) -> bytes:
    data = bytes.fromhex(text) if isinstance(text, str) else b""
    if len(data) != size or data.hex() != text:
        raise ValueError("not so many hexadecimal digits")
    return data


def _told_board(capture: Capture) -> _Told:
    board = capture.header.get("board")
    board = board if isinstance(board, dict) else {}
    board_id, key = board.get("id"), board.get("public_key")
    try:
        public = None if key is None else _digits(key, m.KEY_SIZE)
        board_id = _digits(board_id, m.BOARD_ID_SIZE).hex()
    except ValueError as error:
        raise SignatureError("the header does not say which board it was", 1, 0) from error
    if public is not None and board_id_of(public) != board_id:
        raise SignatureError("the header gives a board's id and another board's key", 1, 0)
    return _Told(board_id, public, str(board.get("name", "")))


def _frame_of(record: RecordLine, chain: Chain) -> frames.Frame:
    try:
        frame = unpacked(record.packet)
    except FrameError as error:
        raise _fault(record, f"the board's record here is damaged: {fault_of(error)}") from error
    if frame.number is None:
        raise _fault(record, "what stands here is not a record of a capture")
    if frame.number != chain.count:
        raise _fault(
            record,
            f"record {frame.number} stands where record {chain.count} belongs: records are "
            "missing, repeated, out of order or from another capture",
        )
    return frame


def _check_open(
    record: RecordLine, frame: frames.Frame, nonce: bytes, told: _Told, line_1: bytes
) -> m.Open:
    opened = frame.message
    if not isinstance(opened, m.Open):
        raise _fault(record, "the first record does not open a capture")
    if opened.nonce != nonce:
        raise _fault(record, "the board's records belong to another capture than the header")
    if opened.board_id.hex() != told.board_id:
        raise _fault(
            record, f"the records are of board {opened.board_id.hex()}; the header names another"
        )
    if opened.origin == _FROM_HOST and _bound_nonce(line_1) != nonce:
        raise SignatureError(
            "the header is not the one that the board was told before its first reading: it was "
            "changed afterwards, or the readings belong to another header",
            1,
            0,
        )
    return opened


def _bound_nonce(line_1: bytes) -> bytes | None:
    try:
        return nonce_for(line_1)
    except ValueError:
        return None


def _check_seal(
    record: RecordLine, frame: frames.Frame, told: _Told, nonce: bytes, chain: Chain
) -> None:
    seal = frame.message
    if seal.public_key != told.public:
        raise _fault(record, "the board's seal is by another key than the header names")
    if chain.preview(frames.body_of(record.packet))[: frames.TAG_SIZE] != frame.tag:
        raise _fault(record, _OTHER_HISTORY)
    try:
        key = Ed25519PublicKey.from_public_bytes(seal.public_key)
        key.verify(seal.signature, seal_text(nonce, chain))
    except (InvalidSignature, ValueError) as error:
        raise _fault(
            record,
            f"the board did not sign these {chain.count} records: its signature does not fit them",
        ) from error


def _fault(record: RecordLine, what: str) -> SignatureError:
    return SignatureError(what, record.line, record.start)

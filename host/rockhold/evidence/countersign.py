"""A reviewer's verdict on a capture, added below everything and sealed by the reviewer."""

import hashlib
import time
from pathlib import Path

from rockhold.capture.lines import to_line
from rockhold.capture.reader import read_bytes
from rockhold.errors import (
    CaptureFormatError,
    CaptureVersionError,
    ResultDiffersError,
    SignatureError,
    UnsealedError,
)
from rockhold.evidence import findings as f
from rockhold.evidence.finish import append
from rockhold.evidence.keys import Signer
from rockhold.evidence.reviews import ACCEPT, review_entry
from rockhold.evidence.seal import make_seal
from rockhold.evidence.trust import Trust
from rockhold.evidence.verify import verify_bytes
from rockhold.typed import typed
from rockhold.utc import now_utc


def countersign(
    path: Path, signer: Signer, verdict: str, because: str, trust: Trust, seen: str = ""
) -> f.Verification:
    """Add a review and the reviewer's seal; return what the review was made in view of.

    Args:
        path: The capture.
        signer: The reviewer.
        verdict: ACCEPT, REJECT or ASK.
        because: The reason, or the question.
        trust: Whom the reviewer trusts.
        seen: SHA-256 of the bytes that the reviewer saw, hexadecimal; "" for what is there now.

    Raises:
        CaptureError: When the file is damaged or unsealed, is accepted with a result that its
            readings do not give, or cannot be read or written.
    """
    data = read_bytes(path)
    if seen and hashlib.sha256(data).hexdigest() != seen:
        raise SignatureError(f"{path} has changed since you were shown it. Look at it again")
    found = verify_bytes(path, data, trust)
    must_be_reviewable(found)
    if verdict == ACCEPT and found.state == f.NOT_REPRODUCED:
        raise ResultDiffersError(
            f"{path} cannot be accepted: {found.problems[0][1]} It can be rejected"
        )
    now_us = time.time_ns() // 1000
    entry = to_line(review_entry(signer.name, verdict, because, now_us))
    seal = make_seal(data + entry, signer.key, signer.role, signer.name, now_utc())
    append(path, data, entry + seal)
    return found


_NOT_TO_REVIEW = {
    f.DAMAGED: SignatureError,
    f.UNREADABLE: CaptureFormatError,
    f.NEWER: CaptureVersionError,
}


def must_be_reviewable(found: f.Verification) -> None:
    """Refuse what nobody may put a review under.

    Raises:
        SignatureError: When it is damaged.
        CaptureFormatError: When it cannot be read as a capture.
        UnsealedError: When it is not sealed to its end.
    """
    path = found.file
    if found.state in _NOT_TO_REVIEW:
        raise _NOT_TO_REVIEW[found.state](
            f"{path} is not reviewed: {found.problems[0][1]} `rockhold verify {typed(path)}` "
            "tells more"
        )
    if found.cut_short or not found.seals or found.sealed_lines < found.lines:
        raise UnsealedError(
            f"{path} is not sealed to its end, so a review would stand on something that can "
            f"still change. Whoever recorded it finishes it with `rockhold seal {typed(path)}`"
        )

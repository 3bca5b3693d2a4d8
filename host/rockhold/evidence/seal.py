"""Seals: a detached JWS over every byte above it. The form is in protocol/README.md, 3.3."""

import base64
import re
import warnings
from contextlib import AbstractContextManager
from dataclasses import dataclass

from joserfc import jws
from joserfc.errors import JoseError, SecurityWarning
from joserfc.jwk import OKPKey

from rockhold.capture.lines import from_line
from rockhold.errors import CaptureFormatError, SignatureError
from rockhold.evidence.keyfile import REVIEWER, TECHNICIAN, jwk_of, public_of, thumbprint_of
from rockhold.evidence.linemarks import make_marks
from rockhold.utc import UTC_FORM

TYPE = "rockhold-seal-1"
MOST_SEALS = 32  # each seal costs a pass over the file, so a hostile file must not hold many
_ALGORITHM = "EdDSA"  # fixed here and never read from a file
_LINE = re.compile(rb'\{"seal":"([A-Za-z0-9_-]{1,4096})\.\.([A-Za-z0-9_-]{86})"\}\n')
_START = b'\n{"seal":'
_NAMES = {"alg", "typ", "kid", "jwk", "role", "by", "signed_utc"}


@dataclass(frozen=True, slots=True)
class SealLine:
    """A seal as it stands in the file, not checked yet.

    Attributes:
        line: Number of its line, from 1.
        start: Where the line begins; the seal covers the bytes before.
        end: Where the line ends, LF included.
        head: The protected header, base64url.
        signature: The signature, base64url.
    """

    line: int
    start: int
    end: int
    head: bytes
    signature: bytes


@dataclass(frozen=True, slots=True)
class CheckedSeal:
    """A seal whose signature fits; whether its key is trusted is another question.

    Attributes:
        line: Number of its line.
        key: RFC 7638 thumbprint of the key that signed, computed from the key itself.
        role: What the signer says to be.
        by: Who the signer says to be.
        signed_utc: When the signer says it was, RFC 3339.
        public: The key, 32 bytes.
    """

    line: int
    key: str
    role: str
    by: str
    signed_utc: str
    public: bytes


class _Registry(jws.JWSRegistry):
    max_header_length = 4096  # the header names a person; the library's 512 is for short tokens


_ONLY = _Registry(algorithms=[_ALGORITHM], strict_check_header=False)


def make_seal(above: bytes, key: OKPKey, role: str, by: str, signed_utc: str) -> bytes:
    """Return the lines that seal the bytes above them: the line marks and the seal.

    Raises:
        SignatureError: When the capture holds as many seals as it may.
    """
    if above.count(_START) >= MOST_SEALS:
        raise SignatureError(f"the capture holds {MOST_SEALS} seals already, and takes no more")
    marks = make_marks(above, after=_end_of_last_seal(above))
    if key.private_key is None:
        raise SignatureError("a seal needs the secret half of a key")
    public = key.private_key.public_key().public_bytes_raw()
    header = {
        "alg": _ALGORITHM,
        "typ": TYPE,
        "kid": thumbprint_of(public),
        "jwk": jwk_of(public),
        "role": role,
        "by": by,
        "signed_utc": signed_utc,
    }
    with _old_name_is_fine():
        whole = jws.serialize_compact(header, above + marks, key, registry=_ONLY)
    head, _, signature = whole.split(".")
    return marks + f'{{"seal":"{head}..{signature}"}}\n'.encode()


def find_seals(data: bytes) -> list[SealLine]:
    """Return the seal lines of a capture, found by their bytes alone.

    Raises:
        SignatureError: When a whole line begins as a seal but is none, or there are too many.
    """
    seals: list[SealLine] = []
    line, counted = 1, 0
    start = data.find(_START)
    while start >= 0:
        start += 1
        line += data.count(b"\n", counted, start)
        counted = start
        match = _LINE.match(data, start)
        if match is None:
            if data.find(b"\n", start) < 0:
                break  # the last line, cut short
            raise SignatureError("it begins as a seal but is none", line, start)
        if len(seals) == MOST_SEALS:
            raise SignatureError(f"more than {MOST_SEALS} seals", line, start)
        seals.append(SealLine(line, start, match.end(), match[1], match[2]))
        start = data.find(_START, match.end() - 1)
    return seals


def check_seal(data: bytes, seal: SealLine) -> CheckedSeal:
    """Return who signed, when the signature fits the bytes above the seal.

    The key that the seal brings only says whether the bytes are whole; trust comes later.

    Raises:
        SignatureError: When it does not fit, or the seal is not of the one kind we know.
    """
    try:
        checked = _read_header(seal)
        # The key as we rebuilt it: nothing else of the seal's own key reaches the library.
        key = OKPKey.import_key(dict(jwk_of(checked.public)))
        compact = seal.head + b".." + seal.signature
        with _old_name_is_fine():
            jws.deserialize_compact(compact, key, registry=_ONLY, payload=data[: seal.start])
    except (JoseError, ValueError) as error:
        if isinstance(error, _HeaderError):
            raise SignatureError(
                f"the seal is of an unknown kind: {error}", seal.line, seal.start
            ) from error
        raise SignatureError(
            f"the seal on line {seal.line} does not fit the {seal.line - 1} lines above it",
            seal.line,
            seal.start,
        ) from error
    return checked


class _HeaderError(ValueError):
    """Reports a protected header that is not the one of the specification."""


def _read_header(seal: SealLine) -> CheckedSeal:
    try:
        text = base64.urlsafe_b64decode(seal.head + b"=" * (-len(seal.head) % 4))
        header = from_line(text, seal.line)
    except (ValueError, CaptureFormatError) as error:
        raise _HeaderError("its header cannot be read") from error
    if set(header) != _NAMES:
        raise _HeaderError("its header has other names")
    if header["alg"] != _ALGORITHM or header["typ"] != TYPE:
        raise _HeaderError("its algorithm or type is another")
    role, by, signed_utc = header["role"], header["by"], header["signed_utc"]
    if role != TECHNICIAN and role != REVIEWER:
        raise _HeaderError("its role is another")
    if not isinstance(by, str) or not by.isprintable():
        raise _HeaderError("its name cannot be printed")
    if not isinstance(signed_utc, str) or not UTC_FORM.fullmatch(signed_utc):
        raise _HeaderError("its time is no time")
    try:
        public = public_of(header["jwk"])
    except ValueError as error:
        raise _HeaderError(f"its key is {error}") from error
    if header["jwk"] != jwk_of(public) or header["kid"] != thumbprint_of(public):
        raise _HeaderError("its key and the key's name do not belong together")
    return CheckedSeal(seal.line, thumbprint_of(public), str(role), by, signed_utc, public)


def _end_of_last_seal(above: bytes) -> int:
    start = above.rfind(_START)
    return above.find(b"\n", start + 1) + 1 if start >= 0 else 0


def _old_name_is_fine() -> AbstractContextManager[object]:
    # RFC 9864 gives the algorithm a second name, "Ed25519"; RFC 8037's "EdDSA" is the one that
    # every JOSE library knows.
    return warnings.catch_warnings(action="ignore", category=SecurityWarning)

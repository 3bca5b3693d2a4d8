"""Seals: a detached JWS over every byte above it. The form is in protocol/README.md, 3.3."""

import re
import warnings
from contextlib import AbstractContextManager
from dataclasses import dataclass

from joserfc import jws
from joserfc.errors import JoseError, SecurityWarning
from joserfc.jwk import OKPKey

from rockhold.errors import SignatureError

TYPE = "rockhold-seal-1"
_ALGORITHM = "EdDSA"  # fixed here and never read from a file
_LINE = re.compile(rb'\{"seal":"([A-Za-z0-9_-]{1,8192})\.\.([A-Za-z0-9_-]{86})"\}\n')
_START = b'{"seal":'


@dataclass(frozen=True, slots=True)
class SealLine:
    """A seal as it stands in the file, not checked yet.

    Attributes:
        line: Number of its line, from 1.
        start: Where the line begins; the seal covers the bytes before.
        end: Where the line ends, LF included.
        compact: The detached JWS.
    """

    line: int
    start: int
    end: int
    compact: str


@dataclass(frozen=True, slots=True)
class CheckedSeal:
    """A seal whose signature fits; whether its key is trusted is another question.

    Attributes:
        line: Number of its line.
        key: RFC 7638 thumbprint of the key that signed, computed from the key itself.
        role: What the signer says to be.
        by: Who the signer says to be.
        signed_utc: When the signer says it was, RFC 3339.
    """

    line: int
    key: str
    role: str
    by: str
    signed_utc: str


def _registry() -> jws.JWSRegistry:
    return jws.JWSRegistry(algorithms=[_ALGORITHM], strict_check_header=False)


def make_seal(above: bytes, key: OKPKey, role: str, by: str, signed_utc: str) -> bytes:
    """Return the seal line over the bytes above it."""
    public = {name: str(key.as_dict(private=False)[name]) for name in ("crv", "kty", "x")}
    header = {
        "alg": _ALGORITHM,
        "typ": TYPE,
        "kid": key.thumbprint(),
        "jwk": public,
        "role": role,
        "by": by,
        "signed_utc": signed_utc,
    }
    with _old_name_is_fine():
        whole = jws.serialize_compact(header, above, key, registry=_registry())
    head, _, signature = whole.split(".")
    return f'{{"seal":"{head}..{signature}"}}\n'.encode()


def find_seals(data: bytes) -> list[SealLine]:
    """Return the seal lines of a capture, found by their bytes alone.

    Raises:
        SignatureError: When a line begins as a seal but is not one.
    """
    seals = []
    start = data.find(_START)
    while start >= 0:
        line = data.count(b"\n", 0, start) + 1
        if start == 0 or data[start - 1] == 0x0A:
            match = _LINE.match(data, start)
            if match is None and b"\n" in data[start:]:
                raise SignatureError(f"line {line} begins as a seal but is not one: damaged")
            if match is not None:
                compact = f"{match[1].decode()}..{match[2].decode()}"
                seals.append(SealLine(line, start, match.end(), compact))
        start = data.find(_START, start + 1)
    return seals


def check_seal(data: bytes, seal: SealLine) -> CheckedSeal:
    """Return who signed, when the signature fits the bytes above the seal.

    Raises:
        SignatureError: When it does not fit, or the seal is not of the one kind we know.
    """
    head = seal.compact.split(".")[0]
    try:
        # The key that the seal brings only says whether the bytes are whole; trust comes later.
        header = jws.extract_compact(f"{head}..".encode()).headers()
        key = OKPKey.import_key(header["jwk"])
        if header.get("typ") != TYPE or key.curve_name != "Ed25519":
            raise SignatureError(f"the seal on line {seal.line} is of an unknown kind")
        with _old_name_is_fine():
            jws.deserialize_compact(
                seal.compact.encode(), key, registry=_registry(), payload=data[: seal.start]
            )
        facts = [str(header[name]) for name in ("role", "by", "signed_utc")]
    except (JoseError, ValueError, KeyError, TypeError) as error:
        raise SignatureError(
            f"the seal on line {seal.line} does not fit the {seal.line - 1} lines above it: "
            "something was changed after it was made"
        ) from error
    return CheckedSeal(seal.line, key.thumbprint(), *facts)


def _old_name_is_fine() -> AbstractContextManager[object]:
    # RFC 9864 gives the algorithm a second name, "Ed25519"; RFC 8037's "EdDSA" is the one that
    # every JOSE library knows.
    return warnings.catch_warnings(action="ignore", category=SecurityWarning)

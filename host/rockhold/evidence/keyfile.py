"""A key as a file: the public half in the open, the secret half under a passphrase.

The secret half is an encrypted JWK (RFC 7517, section 7): a JWE with PBES2 (RFC 7518, 4.8), so
that any JOSE library opens it with the passphrase. A key may also be kept without one, if its owner
asks for that.
"""

import base64
import hashlib
import json
import warnings
from collections.abc import Mapping
from dataclasses import dataclass

from joserfc import jwe
from joserfc.errors import JoseError, SecurityWarning
from joserfc.jwk import OctKey, OKPKey

from rockhold.errors import KeyStoreError, WrongPassphraseError

TECHNICIAN = "technician"
REVIEWER = "reviewer"
BOARD = "board"
ROLES = (TECHNICIAN, REVIEWER, BOARD)
CURVE = "Ed25519"
RAW_SIZE = 32
SHORTEST = 8  # characters of a new passphrase

_WRAP = "PBES2-HS512+A256KW"
_CIPHER = "A256GCM"
# Guesses a thief must pay for. 210 000 rounds of PBKDF2 with HMAC-SHA-512 is what the OWASP
# Password Storage Cheat Sheet asks for (2023; from memory); RFC 8018 says only "as many as can be
# tolerated".
_ROUNDS = 210_000
_ALLOWED = jwe.JWERegistry(algorithms=[_WRAP, _CIPHER])


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """A key of this computer or of somebody it trusts.

    Attributes:
        name: Whose it is.
        role: "technician", "reviewer" or "board".
        public: 32 bytes.
        since_utc: When it was made or trusted here, RFC 3339.
        secret: How the secret half is stored: None, {"jwk": …} or {"jwe": …}.
        retired_utc: Since when it no longer signs, "" while it does.
        stolen: Whether somebody else may have it; then no seal of it counts, whatever its date.
        because: Why it was retired.
    """

    name: str
    role: str
    public: bytes
    since_utc: str
    secret: Mapping[str, object] | None = None
    retired_utc: str = ""
    stolen: bool = False
    because: str = ""

    @property
    def thumbprint(self) -> str:
        """RFC 7638 thumbprint, base64url."""
        return thumbprint_of(self.public)

    @property
    def fingerprint(self) -> str:
        """The thumbprint's first 80 bits, as two people compare it on the telephone."""
        return fingerprint_of(self.thumbprint)

    @property
    def locked(self) -> bool:
        """Whether a passphrase guards the secret half."""
        return self.secret is not None and "jwe" in self.secret


def jwk_of(public: bytes) -> dict[str, str]:
    """Return a public key as a JWK (RFC 8037, section 2)."""
    return {"crv": CURVE, "kty": "OKP", "x": _b64url(public)}


def thumbprint_of(public: bytes) -> str:
    """Return the RFC 7638 thumbprint of a public key, base64url."""
    text = json.dumps(jwk_of(public), sort_keys=True, separators=(",", ":"))
    return _b64url(hashlib.sha256(text.encode()).digest())


def fingerprint_of(thumbprint: str) -> str:
    """Return the first 80 bits of a thumbprint as five groups of four hexadecimal digits."""
    digits = base64.urlsafe_b64decode(thumbprint + "=").hex()[:20]
    return " ".join(digits[at : at + 4] for at in range(0, 20, 4))


def public_of(jwk: object) -> bytes:
    """Return the 32 bytes of a JWK that holds an Ed25519 key.

    Only the three names of such a key are looked at, and they must be in their one right form.

    Raises:
        ValueError: When it is anything else.
    """
    if not isinstance(jwk, dict) or jwk.get("kty") != "OKP" or jwk.get("crv") != CURVE:
        raise ValueError("not an Ed25519 key")
    text = jwk.get("x")
    if not isinstance(text, str) or len(text) != 43 or not text.isascii():
        raise ValueError("not an Ed25519 key of 32 bytes")
    public = base64.urlsafe_b64decode(text + "=")
    if _b64url(public) != text:
        raise ValueError("not an Ed25519 key in its one right form")
    return public


def board_id_of(public: bytes) -> str:
    """Return the id of the board with this key (protocol/README.md, part 2), hexadecimal."""
    return hashlib.sha256(public).hexdigest()[:16]


def to_text(record: KeyRecord, with_secret: bool = True) -> str:
    """Return a key as the text of its file, or as what its owner gives to others."""
    value: dict[str, object] = {
        "rockhold": "key",
        "version": 1,
        "name": record.name,
        "role": record.role,
        "since_utc": record.since_utc,
        "public": jwk_of(record.public),
    }
    if record.retired_utc:
        value |= {
            "retired_utc": record.retired_utc,
            "stolen": record.stolen,
            "because": record.because,
        }
    if with_secret and record.secret is not None:
        value["secret"] = dict(record.secret)
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def from_text(text: str) -> KeyRecord:
    """Return the key that a file holds.

    Raises:
        ValueError: When the text is no key of ours.
    """
    try:
        value = json.loads(text)
    except RecursionError as error:
        raise ValueError("nested too deeply") from error
    if not isinstance(value, dict) or value.get("rockhold") != "key" or value.get("version") != 1:
        raise ValueError("not a key file of rockhold")
    role, secret = value.get("role"), value.get("secret")
    if role not in ROLES or not (secret is None or isinstance(secret, dict)):
        raise ValueError("a key file with an unknown role or form")
    facts = [value.get(name, "") for name in ("name", "since_utc", "retired_utc", "because")]
    if not all(isinstance(fact, str) for fact in facts) or not facts[0]:
        raise ValueError("a key file without a name")
    name, since_utc, retired_utc, because = facts
    return KeyRecord(
        name=name,
        role=role,
        public=public_of(value.get("public")),
        since_utc=since_utc,
        secret=secret,
        retired_utc=retired_utc,
        stolen=value.get("stolen") is True,
        because=because,
    )


def lock(key: OKPKey, passphrase: str) -> dict[str, object]:
    """Return the secret half for its file; an empty passphrase leaves it open."""
    jwk = key.as_dict(private=True)
    if not passphrase:
        return {"jwk": jwk}
    header = {"alg": _WRAP, "enc": _CIPHER, "cty": "jwk+json", "p2c": _ROUNDS}
    secret = _as_key(passphrase)
    return {"jwe": jwe.encrypt_compact(header, json.dumps(jwk).encode(), secret, registry=_ALLOWED)}


def unlock(record: KeyRecord, passphrase: str) -> OKPKey:
    """Return the whole key.

    Raises:
        KeyStoreError: When the passphrase is wrong, or the halves do not belong together.
    """
    stored = record.secret or {}
    try:
        jwk = stored.get("jwk")
        if record.locked:
            secret = _as_key(passphrase)
            opened = jwe.decrypt_compact(str(stored["jwe"]), secret, registry=_ALLOWED)
            jwk = json.loads(opened.plaintext or b"")
        if not isinstance(jwk, dict) or public_of(jwk) != record.public:
            raise ValueError("another key's secret half")
        key = OKPKey.import_key({**jwk_of(record.public), "d": str(jwk["d"])})
        if key.private_key is None:
            raise ValueError("no secret half")
        whole = key.private_key.public_key().public_bytes_raw()
    except (JoseError, ValueError, KeyError) as error:
        fault = "the passphrase is wrong, or the file is damaged" if record.locked else "damaged"
        kind = WrongPassphraseError if record.locked else KeyStoreError
        raise kind(f'the key of "{record.name}", {record.role}: {fault}') from error
    if whole != record.public:
        raise KeyStoreError(
            f'the key of "{record.name}", {record.role}: its public and secret halves do not '
            "belong together. Put back a copy of the file"
        )
    return key


def _as_key(passphrase: str) -> OctKey:
    with warnings.catch_warnings(action="ignore", category=SecurityWarning):
        return OctKey.import_key(passphrase.encode())  # warns below 14 bytes; see SHORTEST


def _b64url(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()

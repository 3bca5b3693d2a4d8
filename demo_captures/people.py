"""The people and the board of the invented fleet, and their keys, which anybody can make."""

import base64
import hashlib
from pathlib import Path

from joserfc.jwk import OKPKey

from rockhold.evidence.keyfile import BOARD, REVIEWER, TECHNICIAN, KeyRecord, lock, to_text
from rockhold.evidence.keys import Signer
from rockwire import ed25519

KEYS = Path(__file__).parent / "keys"
MADE_UTC = "2026-11-25T00:00:00Z"


def person(name: str, role: str) -> Signer:
    """Return a demo person, whose key anybody can make from the name."""
    seed = hashlib.sha256(f"rockhold demo {role} {name}".encode()).digest()
    text = base64.urlsafe_b64encode(seed).rstrip(b"=").decode()
    public = base64.urlsafe_b64encode(ed25519.public_key(seed)).rstrip(b"=").decode()
    key = OKPKey.import_key({"kty": "OKP", "crv": "Ed25519", "x": public, "d": text})
    return Signer(key, name, role)


BOARD_SECRET = hashlib.sha256(b"rockhold demo board 1").digest()
MILLER = person("A. Miller (demo)", TECHNICIAN)
QUIST = person("O. Quist (demo)", REVIEWER)
STRANGER = person("B. Novak (demo)", TECHNICIAN)


def write_keys() -> None:
    """Leave the demo keys as a folder that ROCKHOLD_HOME can name."""
    for signer in (MILLER, QUIST):
        public = ed25519.public_key(base64.urlsafe_b64decode(_secret(signer) + "="))
        one = KeyRecord(signer.name, signer.role, public, MADE_UTC, lock(signer.key, ""))
        _put(KEYS / "own" / f"{signer.role}.json", to_text(one))
    board = KeyRecord("demo board", BOARD, ed25519.public_key(BOARD_SECRET), MADE_UTC)
    _put(KEYS / "trusted" / "board.json", to_text(board))


def _secret(signer: Signer) -> str:
    return str(signer.key.as_dict(private=True)["d"])


def _put(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")

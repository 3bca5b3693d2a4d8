"""Keys that somebody offers to be trusted: in a key file, a JWK, a capture, or as digits."""

import json
import re
from pathlib import Path

from rockhold.capture.reader import parse_capture, read_bytes
from rockhold.errors import KeyStoreError, SignatureError
from rockhold.evidence.boardproof import check_records
from rockhold.evidence.keyfile import BOARD, RAW_SIZE, from_text, public_of
from rockhold.evidence.seal import check_seal, find_seals

_HEX = re.compile(rf"[0-9a-fA-F]{{{2 * RAW_SIZE}}}")
_LARGEST = 1 << 16  # bytes of a key file
_CAPTURE = b'{"rockhold":"capture"'


def offered_keys(source: str, role: str) -> list[tuple[bytes, str]]:
    """Return the keys for a role that a source holds: (32 bytes, the name that came with it).

    Raises:
        KeyStoreError: When the source cannot be read or holds no key.
        CaptureError: When it is a capture that is damaged.
    """
    if _HEX.fullmatch(source):
        return [(bytes.fromhex(source), "")]
    path = Path(source)
    try:
        with path.open("rb") as file:
            start = file.read(_LARGEST + 1)
    except OSError as error:
        raise KeyStoreError(f"cannot read {source}: {error.strerror}") from error
    if start.startswith(_CAPTURE):
        return _of_capture(path, role)
    if len(start) > _LARGEST:
        raise KeyStoreError(f"{source} is far too long for a key")
    try:
        text = start.decode()
        if '"rockhold"' in text:
            record = from_text(text)
            if record.role != role:
                raise KeyStoreError(f"{source} holds the key of a {record.role}, not of a {role}")
            return [(record.public, record.name)]
        return [(public_of(json.loads(text)), "")]
    except (ValueError, RecursionError) as error:
        raise KeyStoreError(f"{source} holds no key: {error}") from error


def _of_capture(path: Path, role: str) -> list[tuple[bytes, str]]:
    data = read_bytes(path)
    if role != BOARD:
        checked = [check_seal(data, seal) for seal in find_seals(data)]
        return sorted({(seal.public, seal.by) for seal in checked if seal.role == role})
    proof = check_records(parse_capture(path, data), data[: data.find(b"\n") + 1])
    if proof.public is None or not proof.sealed:
        raise SignatureError(f"{path} holds no seal of a board")
    return [(proof.public, proof.name)]

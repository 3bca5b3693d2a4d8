"""Write protocol/vectors/evidence from the specification, with libraries that are not ours.

    .venv/bin/python tests/protocol/make_evidence_vectors.py

Hashes come from `hashlib`, signatures from `cryptography`, HMAC from `hmac`; nothing of rockwire or
rockhold is imported.
"""

import hashlib
import hmac
import struct
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

FOLDER = Path(__file__).parents[2] / "protocol" / "vectors" / "evidence"
NONCE = bytes(range(16))
# RFC 8032, 7.1, test 1.
SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
BODIES = (
    bytes.fromhex("018000000000") + NONCE + bytes(37),
    bytes.fromhex("0181010000000000") + b"\x09indicator",
    bytes.fromhex("018602000000") + struct.pack("<QB", 5_000_000, 0),
)
HEADER = (
    b'{"rockhold":"capture","version":1,"capture":"0011223344556677","nonce":"'
    + b"0" * 32
    + '","vehicle":{"number":"R-1 ½"}}\n'.encode()
)


def chain() -> list[str]:
    """The chain over three records and the board's seal over it."""
    head = hashlib.sha256(b"rockhold chain 1" + NONCE).digest()
    rows = [f"nonce: {NONCE.hex()}", f"head: {head.hex()}"]
    for body in BODIES:
        head = hashlib.sha256(head + body).digest()
        rows += [f"body: {body.hex()}", f"head: {head.hex()}", f"tag: {head[:4].hex()}"]
    key = Ed25519PrivateKey.from_private_bytes(SECRET)
    public = key.public_key().public_bytes_raw()
    text = b"rockhold board seal 1" + NONCE + head + struct.pack("<I", len(BODIES))
    return [
        *rows,
        f"secret: {SECRET.hex()}",
        f"public: {public.hex()}",
        f"board-id: {hashlib.sha256(public).digest()[:8].hex()}",
        f"signed-text: {text.hex()}",
        f"signature: {key.sign(text).hex()}",
    ]


def header() -> list[str]:
    """A header whose nonce is all zeros, and the nonce that belongs in it."""
    nonce = hashlib.sha256(b"rockhold header 1" + HEADER).digest()[:16]
    return [f"line: {HEADER.hex()}", f"nonce: {nonce.hex()}"]


def guarded() -> list[str]:
    """MACs of guarded commands: key, board's id, counter, type, payload, mac."""
    rows = []
    for counter, kind, payload in (
        (1, 3, b"\1\0"),
        (1 << 50, 4, b"abcd" + bytes(4)),
        (2**64 - 1, 2, b""),
    ):
        key, board = bytes(range(32)), b"boardid8"
        text = b"rockhold command 1" + board + struct.pack("<QB", counter, kind) + payload
        mac = hmac.new(key, text, hashlib.sha256).digest()[:16]
        rows.append(
            f"mac: {key.hex()} {board.hex()} {counter} {kind} {payload.hex() or '-'} {mac.hex()}"
        )
    return rows


def main() -> None:
    """Write the files."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for make in (chain, header, guarded):
        rows = [f"comment: {make.__doc__}", *make()]
        (FOLDER / f"{make.__name__}.txt").write_text("\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

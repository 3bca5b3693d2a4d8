"""A verifier written from protocol/README.md alone: nothing of rockhold or rockwire is imported.

    python tests/plain_verifier.py CAPTURE…

It rests on `jwcrypto` for the seals and `cryptography` for the board's signature, and answers with
one word a file: "sealed" (bytes, seals, lines and board's signature fit), "unsealed", or "damaged".
Trust and results are another matter.
"""

import base64
import binascii
import hashlib
import json
import re
import sys
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from jwcrypto import jwk, jws
from jwcrypto.common import JWException

HEAD = re.compile(
    rb'\{"rockhold":"capture","version":1,"capture":"[0-9a-f]{16}","nonce":"([0-9a-f]{32})",'
)
SEAL = re.compile(rb'\{"seal":"([A-Za-z0-9_-]{1,4096})\.\.([A-Za-z0-9_-]{86})"\}')
NAMES = {"alg", "typ", "kid", "jwk", "role", "by", "signed_utc"}


class DamagedError(Exception):
    """Says what does not fit."""


def need(condition, what):
    if not condition:
        raise DamagedError(what)


def unpadded(data):
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def verify(data):
    """Return "sealed" or "unsealed", or raise DamagedError."""
    need(HEAD.match(data) is not None and len(data) <= 64 << 20, "no capture")
    *lines, rest = data.split(b"\n")
    roles, last = [], -1
    start = 0
    for number, line in enumerate(lines):
        if line.startswith(b'{"seal":'):
            roles.append(check_seal(line, data[:start]))
            last = number
        start += len(line) + 1
    need(len(roles) <= 32, "too many seals")
    values = [read(line) for line in lines]
    check_order(values, last)
    board_signed = check_board(lines[0], values)
    whole = last == len(lines) - 1 and not rest and "technician" in roles
    return "sealed" if whole and board_signed else "unsealed"


def check_seal(line, above):
    match = SEAL.fullmatch(line)
    need(match, "no seal")
    head, signature = match[1].decode(), match[2].decode()
    raw = base64.urlsafe_b64decode(signature + "==")
    need(unpadded(raw) == signature, "signature not in its one form")
    token = jws.JWS()
    token.allowed_algs = ["EdDSA"]
    try:
        header = json.loads(base64.urlsafe_b64decode(head + "=" * (-len(head) % 4)))
        need(set(header) == NAMES and header["typ"] == "rockhold-seal-1", "strange header")
        key = jwk.JWK(**header["jwk"])
        need(set(header["jwk"]) == {"crv", "kty", "x"} and header["jwk"]["crv"] == "Ed25519", "key")
        need(header["kid"] == key.thumbprint(), "kid")
        token.deserialize(f"{head}.{unpadded(above)}.{signature}", key)
    except (JWException, ValueError, KeyError) as error:
        raise DamagedError("seal") from error
    return header["role"]


def read(line):
    def distinct(pairs):
        need(len(dict(pairs)) == len(pairs), "a name twice")
        return dict(pairs)

    need(len(line) <= 1 << 20, "line too long")
    try:
        value = json.loads(line.decode(), object_pairs_hook=distinct, parse_constant=int)
    except (ValueError, RecursionError) as error:
        raise DamagedError("no JSON") from error
    need(isinstance(value, dict) and value, "no object")
    return value


def check_order(values, last):
    kinds = [next(iter(value)) for value in values]
    ends = [at for at, kind in enumerate(kinds) if kind in ("result", "seal")]
    for at, kind in enumerate(kinds):
        if kind == "record":
            need(not ends or at < ends[0], "record below a result or seal")
        if kind == "marks" and at > last and at + 1 < len(kinds):
            need(kinds[at + 1] == "note", "no seal below the marks")
    procedure = values[0]["procedure"]
    need(hashlib.sha256(procedure["text"].encode()).hexdigest() == procedure["sha256"], "procedure")


def check_board(line_1, values):
    """Return whether the board signed; raise when something does not fit."""
    header = values[0]
    nonce, board = bytes.fromhex(header["nonce"]), header["board"]
    public = board["public_key"]
    if public is not None:
        need(hashlib.sha256(bytes.fromhex(public)).hexdigest()[:16] == board["id"], "id of board")
    head = hashlib.sha256(b"rockhold chain 1" + nonce).digest()
    packets = [value["record"] for value in values if next(iter(value)) == "record"]
    signed = False
    for number, text in enumerate(packets):
        packet = base64.b64decode(text, validate=True)
        need(base64.b64encode(packet).decode() == text, "base64")
        body, tag, crc = packet[:-6], packet[-6:-2], packet[-2:]
        need(binascii.crc_hqx(packet[:-2], 0xFFFF) == int.from_bytes(crc, "little"), "CRC")
        need(body[0] == 1 and int.from_bytes(body[2:6], "little") == number, "number")
        need(not signed, "record below the board's seal")
        if number == 0:
            check_open(body, nonce, line_1, board)
        before, head = head, hashlib.sha256(head + body).digest()
        need(head[:4] == tag, "chain")
        if body[1] == 0x87:
            need(body[6:38].hex() == public, "key of the board's seal")
            text = b"rockhold board seal 1" + nonce + before + number.to_bytes(4, "little")
            try:
                Ed25519PublicKey.from_public_bytes(body[6:38]).verify(body[38:102], text)
            except InvalidSignature as error:
                raise DamagedError("the board did not sign this") from error
            signed = True
    return signed


def check_open(body, nonce, line_1, board):
    need(body[1] == 0x80, "no Open")
    need(body[6:22] == nonce and body[22:30].hex() == board["id"], "another capture or board")
    if body[-1] == 0:
        at = HEAD.match(line_1).start(1)
        blank = line_1[:at] + b"0" * 32 + line_1[at + 32 :] + b"\n"
        need(hashlib.sha256(b"rockhold header 1" + blank).digest()[:16] == nonce, "header")


def word_for(data):
    try:
        return verify(data)
    except (DamagedError, KeyError, TypeError, ValueError, IndexError):
        return "damaged"


if __name__ == "__main__":
    for name in sys.argv[1:]:
        print(name, word_for(Path(name).read_bytes()))

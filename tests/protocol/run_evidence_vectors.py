"""Compute what protocol/vectors/evidence says, with the shared code, and print it in its form.

    python run_evidence_vectors.py PROTOCOL_FOLDER

Runs on CPython and on MicroPython; what they print must be the files' own rows.
"""

import sys

folder = sys.argv[1]
sys.path.insert(0, folder)

from rockwire import ed25519  # noqa: E402
from rockwire.chain import Chain, seal_text  # noqa: E402
from rockwire.guard import mac_of  # noqa: E402


def rows_of(name):
    """Return the rows of a vector: (word, value)."""
    with open(folder + "/vectors/evidence/" + name + ".txt") as file:
        return [
            row.split(": ", 1) for row in file.read().split("\n") if row and row[:8] != "comment:"
        ]


def chain():
    """Print the chain's rows anew."""
    rows = rows_of("chain")
    given = dict([row for row in rows if row[0] in ("nonce", "secret")])
    nonce, secret = bytes.fromhex(given["nonce"]), bytes.fromhex(given["secret"])
    run = Chain(nonce)
    print("nonce:", nonce.hex())
    print("head:", run.head.hex())
    for word, value in rows:
        if word == "body":
            tag = run.extend(bytes.fromhex(value))
            print("body:", value)
            print("head:", run.head.hex())
            print("tag:", tag.hex())
    text = seal_text(nonce, run)
    print("signed-text:", text.hex())
    print("public:", ed25519.public_key(secret).hex())
    print("signature:", ed25519.sign(secret, text).hex())


def guarded():
    """Print the MACs anew."""
    for _, value in rows_of("guarded"):
        key, board, counter, kind, payload, _ = value.split(" ")
        payload = bytes.fromhex("" if payload == "-" else payload)
        mac = mac_of(bytes.fromhex(key), bytes.fromhex(board), int(counter), int(kind), payload)
        print("mac:", value[: value.rfind(" ")], mac.hex())


chain()
guarded()

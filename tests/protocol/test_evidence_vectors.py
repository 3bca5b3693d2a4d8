"""The vectors of the evidence, made with other libraries, against the shared code on both sides."""

import hashlib
import runpy
from pathlib import Path

from rockhold.capture.binding import nonce_for
from rockhold.evidence.keyfile import board_id_of
from support import VECTORS, cpython, micropython, needs_micropython

FOLDER = VECTORS / "evidence"
RUNNER = Path(__file__).with_name("run_evidence_vectors.py")


def rows_of(name):
    return (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()[1:]


def expected():
    chained = [row for row in rows_of("chain") if row.split(":")[0] not in ("secret", "board-id")]
    return sorted(chained + rows_of("guarded"))


def test_the_files_are_what_their_maker_makes():
    maker = runpy.run_path(str(RUNNER.with_name("make_evidence_vectors.py")))
    for name in ("chain", "header", "guarded"):
        assert rows_of(name) == maker[name]()


def test_vectors_on_cpython():
    assert sorted(cpython(RUNNER, str(VECTORS.parent)).splitlines()) == expected()


@needs_micropython
def test_vectors_on_micropython():
    assert sorted(micropython(RUNNER, str(VECTORS.parent)).splitlines()) == expected()


def test_the_headers_nonce_and_the_boards_id():
    line, nonce = (row.split(": ")[1] for row in rows_of("header"))
    assert nonce_for(bytes.fromhex(line)).hex() == nonce
    facts = dict(row.split(": ") for row in rows_of("chain"))
    public = bytes.fromhex(facts["public"])
    assert board_id_of(public) == facts["board-id"]
    # The public key of RFC 8032, 7.1, test 1.
    assert facts["public"].startswith("d75a980182b10ab7")
    assert hashlib.sha256(public).hexdigest().startswith(facts["board-id"])

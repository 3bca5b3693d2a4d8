import hashlib

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from rockboard.identity import Identity, stored_secret
from rockwire.chain import Chain, seal_text

NONCE = bytes(range(16))


def test_the_secret_is_made_once_and_kept(tmp_path):
    path = tmp_path / "secret"
    first = stored_secret(str(path))
    assert len(first) == 32
    assert stored_secret(str(path)) == first


def test_a_damaged_secret_is_replaced(tmp_path):
    path = tmp_path / "secret"
    path.write_bytes(b"short")
    assert len(stored_secret(str(path))) == 32
    assert path.read_bytes() == stored_secret(str(path))


def test_the_seal_verifies_with_a_library_that_is_not_ours():
    who = Identity("board", bytes(range(32)))
    chain = Chain(NONCE)
    chain.extend(b"record")
    signature = who.sign(NONCE, chain)
    Ed25519PublicKey.from_public_bytes(who.public_key).verify(signature, seal_text(NONCE, chain))
    assert who.board_id == hashlib.sha256(who.public_key).digest()[:8]


def test_a_board_that_was_not_set_up_has_an_id_and_no_seal():
    who = Identity("board")
    assert len(who.board_id) == 8
    assert who.public_key is None
    assert who.sign(NONCE, Chain(NONCE)) is None

import base64
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jwcrypto import jwa, jwe, jwk

from rockhold.errors import KeyStoreError, WrongPassphraseError
from rockhold.evidence import keyfile
from rockhold.evidence.keyfile import KeyRecord, from_text, lock, to_text, unlock
from support_evidence import SIGNED_UTC, TECHNICIAN, public_of

PUBLIC = public_of(TECHNICIAN)


def record(passphrase="", **changes):
    facts = {"name": "A. Miller", "role": "technician", "public": PUBLIC, "since_utc": SIGNED_UTC}
    return KeyRecord(**facts | {"secret": lock(TECHNICIAN.key, passphrase)} | changes)


@pytest.mark.parametrize("passphrase", ["", "correct horse", "Füße ½"])
def test_a_key_comes_back_with_its_passphrase(passphrase):
    back = from_text(to_text(record(passphrase)))
    assert back == record(passphrase, secret=back.secret)
    assert back.locked == bool(passphrase)
    assert unlock(back, passphrase).as_dict(private=True) == TECHNICIAN.key.as_dict(private=True)


def test_a_wrong_passphrase_says_so():
    with pytest.raises(WrongPassphraseError, match="passphrase is wrong"):
        unlock(record("right"), "wrong")


def test_another_jose_library_opens_the_secret_half(monkeypatch):
    # RFC 7517, section 7, and RFC 7518, 4.8: an encrypted JWK.
    token = jwe.JWE(algs=["PBES2-HS512+A256KW", "A256GCM"])
    key = jwk.JWK.from_password("right")
    monkeypatch.setattr(jwa, "default_max_pbkdf2_iterations", 300_000)
    token.deserialize(record("right").secret["jwe"], key)
    assert json.loads(token.payload) == TECHNICIAN.key.as_dict(private=True)
    header = json.loads(token.objects["protected"])
    assert header["p2c"] >= 210_000
    assert header["cty"] == "jwk+json"


def test_the_secret_is_not_in_the_file_of_a_locked_key_nor_in_what_is_given_away():
    secret = TECHNICIAN.key.as_dict(private=True)["d"]
    assert secret not in to_text(record("right"))
    assert secret in to_text(record(""))
    assert secret not in to_text(record(""), with_secret=False)


def test_halves_that_do_not_belong_together_are_refused():
    strange = KeyRecord("B", "technician", bytes(32), SIGNED_UTC, lock(TECHNICIAN.key, ""))
    with pytest.raises(KeyStoreError, match="damaged") as caught:
        unlock(strange, "")
    assert not isinstance(caught.value, WrongPassphraseError)  # no use in asking again
    other = dict(lock(TECHNICIAN.key, "")["jwk"]) | {"d": "A" * 43}
    with pytest.raises(KeyStoreError, match="do not belong together"):
        unlock(record(secret={"jwk": other}), "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Expecting value"),
        ("[]", "not a key file"),
        ("[" * 100_000, "nested too deeply"),
        ("{}", "not a key file"),
        ('{"rockhold":"key","version":2}', "not a key file"),
        ('{"rockhold":"key","version":1,"name":"A","role":"owner"}', "unknown role"),
        ('{"rockhold":"key","version":1,"name":"","role":"board"}', "without a name"),
        ('{"rockhold":"key","version":1,"role":"board"}', "without a name"),
        ('{"rockhold":"key","version":1,"name":5,"role":"board"}', "without a name"),
        ('{"rockhold":"key","version":1,"name":"A","role":"board","because":5}', "without a name"),
        ('{"rockhold":"key","version":1,"name":"A","role":"board","public":{}}', "not an Ed25519"),
        ('{"rockhold":"key","version":1,"name":"A","role":"board","secret":5}', "unknown role"),
    ],
)
def test_what_is_no_key_file_is_refused(text, words):
    with pytest.raises(ValueError, match=words):
        from_text(text)


def test_a_key_file_can_be_read_by_people_one_fact_a_line():
    lines = to_text(record(name="Jürg Müller"), with_secret=False).splitlines()
    assert lines[:2] == ["{", ' "rockhold": "key",']
    assert ' "name": "Jürg Müller",' in lines


@given(st.binary(min_size=32, max_size=32) | st.just(b"\x97" * 32))
def test_a_public_key_as_a_jwk_comes_back(public):
    # RFC 8037, 2: "x" is the key in base64url without padding (RFC 7515, 2).
    jwk = keyfile.jwk_of(public)
    assert len(jwk["x"]) == 43
    assert keyfile.public_of(jwk) == public


def test_spare_bits_of_the_last_letter_are_zero():
    # RFC 4648, 3.5: else one key would have four names.
    jwk = keyfile.jwk_of(bytes(32))
    assert jwk["x"][-1] == "A"
    for letter in "BCD":
        with pytest.raises(ValueError, match="one right form"):
            keyfile.public_of(jwk | {"x": jwk["x"][:-1] + letter})


@pytest.mark.parametrize("size", [0, 31, 33, 64])
def test_a_public_key_has_32_bytes(size):
    # RFC 8032, 5.1.5
    x = base64.urlsafe_b64encode(bytes(size)).rstrip(b"=").decode()
    with pytest.raises(ValueError, match="Ed25519"):
        keyfile.public_of({"kty": "OKP", "crv": "Ed25519", "x": x})


def test_retirement_comes_back():
    gone = record(retired_utc=SIGNED_UTC, stolen=True, because="lost laptop")
    assert from_text(to_text(gone)) == gone


def test_fingerprints_are_the_thumbprints_first_digits():
    # RFC 8037, A.3: the thumbprint of the key of RFC 8032, 7.1, test 1; its first ten bytes.
    thumbprint = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
    assert keyfile.fingerprint_of(thumbprint) == "90fa cafe a9b1 5566 9854"
    assert record().fingerprint == keyfile.fingerprint_of(keyfile.thumbprint_of(PUBLIC))
    assert keyfile.board_id_of(b"x" * 32) != keyfile.board_id_of(b"y" * 32)


def test_any_one_byte_changed_in_a_key_file_never_gives_another_key():
    text = to_text(record("")).encode()
    for at in range(0, len(text), 7):
        changed = text[:at] + bytes((text[at] ^ 1,)) + text[at + 1 :]
        try:
            back = from_text(changed.decode())
            unlock(back, "")
        except (ValueError, KeyStoreError):
            continue
        assert back.public == PUBLIC


def test_the_rounds_are_within_what_libraries_allow():
    assert 210_000 <= keyfile._ROUNDS < 300_000

"""Seals against RFC 8037 and RFC 7638, another JOSE library, and hostile headers."""

import base64
import hashlib
import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from joserfc import jws as joserfc_jws
from joserfc.jwk import OKPKey
from jwcrypto import jwk, jws

from rockhold.errors import SignatureError
from rockhold.evidence import seal as seals
from rockhold.evidence.keyfile import jwk_of, thumbprint_of
from rockhold.evidence.linemarks import make_marks
from rockhold.evidence.seal import MOST_SEALS, check_seal, find_seals, make_seal
from support_evidence import SIGNED_UTC, TECHNICIAN, public_of

ABOVE = b'{"rockhold":"capture"}\n{"note":"x"}\n'

# RFC 8037, A.1 and A.4; the key is that of RFC 8032, 7.1, test 1.
RFC_KEY = {
    "kty": "OKP",
    "crv": "Ed25519",
    "d": "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A",
    "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo",
}
RFC_JWS = (
    "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc."
    "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
)


def b64(data):
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def made(above=ABOVE, signer=TECHNICIAN):
    return above + make_seal(above, signer.key, signer.role, signer.name, SIGNED_UTC)


def test_rfc_8037_a4_is_what_our_library_makes_and_accepts():
    key = OKPKey.import_key(RFC_KEY)
    with seals._old_name_is_fine():
        registry = joserfc_jws.JWSRegistry(algorithms=["EdDSA"])
        text = joserfc_jws.serialize_compact(
            {"alg": "EdDSA"}, b"Example of Ed25519 signing", key, registry=registry
        )
        assert text == RFC_JWS
        back = joserfc_jws.deserialize_compact(RFC_JWS, key, registry=registry)
    assert back.payload == b"Example of Ed25519 signing"


def test_rfc_8037_a3_thumbprint():
    public = base64.urlsafe_b64decode(RFC_KEY["x"] + "=")
    assert thumbprint_of(public) == "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"


def test_another_jose_library_verifies_our_seal():
    data = made()
    seal = find_seals(data)[0]
    token = jws.JWS()
    token.allowed_algs = ["EdDSA"]
    key = jwk.JWK(**jwk_of(public_of(TECHNICIAN)))
    compact = f"{seal.head.decode()}.{b64(data[: seal.start])}.{seal.signature.decode()}"
    token.deserialize(compact, key)
    assert token.payload == data[: seal.start]


def test_the_seal_is_checked_over_every_byte_above_it():
    data = made()
    found = check_seal(data, find_seals(data)[0])
    assert (found.by, found.role, found.signed_utc) == ("A. Miller", "technician", SIGNED_UTC)
    assert found.key == thumbprint_of(public_of(TECHNICIAN))
    for at in range(find_seals(data)[0].start):
        changed = data[:at] + bytes((data[at] ^ 0x40,)) + data[at + 1 :]
        for seal in find_seals(changed):
            with pytest.raises(SignatureError):
                check_seal(changed, seal)


def test_seals_upon_seals_each_cover_what_is_above():
    data = made(made())
    assert [seal.line for seal in find_seals(data)] == [4, 6]
    for seal in find_seals(data):
        check_seal(data, seal)


def forged(header, key=None):
    """A seal over ABOVE with any header, whose signature is right."""
    private = Ed25519PrivateKey.from_private_bytes(base64.urlsafe_b64decode(RFC_KEY["d"] + "="))
    head = b64(header if isinstance(header, bytes) else json.dumps(header).encode())
    signature = private.sign(f"{head}.{b64(ABOVE)}".encode())
    return ABOVE + f'{{"seal":"{head}..{b64(signature)}"}}\n'.encode()


def header(**changes):
    public = base64.urlsafe_b64decode(RFC_KEY["x"] + "=")
    value = {
        "alg": "EdDSA",
        "typ": seals.TYPE,
        "kid": thumbprint_of(public),
        "jwk": jwk_of(public),
        "role": "technician",
        "by": "A. Miller",
        "signed_utc": SIGNED_UTC,
    }
    return {name: part for name, part in (value | changes).items() if part is not None}


def test_the_plain_forgery_is_a_right_seal():
    data = forged(header())
    check_seal(data, find_seals(data)[0])


JWK = header()["jwk"]


@pytest.mark.parametrize(
    "changes",
    [
        {"alg": "none"},
        {"alg": "HS256"},
        {"alg": "Ed25519"},
        {"typ": "JWT"},
        {"typ": None},
        {"role": "board"},
        {"role": ["technician"]},
        {"by": "A\x1b[2J"},
        {"by": 7},
        {"signed_utc": "yesterday"},
        {"signed_utc": None},
        {"kid": "another"},
        {"b64": False, "crit": ["b64"]},
        {"crit": []},
        {"jku": "https://example.com/"},
        {"jwk": None},
        {"jwk": JWK | {"d": RFC_KEY["d"]}},
        {"jwk": JWK | {"crv": "Ed448"}},
        {"jwk": JWK | {"kty": "oct", "k": "AAAA"}},
        {"jwk": JWK | {"x": JWK["x"][:-1] + "p"}},
        {"jwk": JWK | {"x": "ü" * 43}},
        {"jwk": JWK | {"x": 5}},
        {"jwk": [JWK]},
        {"jwk": {"kty": "RSA", "n": "A" * 500, "e": "AQAB"}},
    ],
    ids=str,
)
def test_a_hostile_header_is_refused_though_its_signature_is_right(changes):
    data = forged(header(**changes))
    with pytest.raises(SignatureError, match="unknown kind"):
        check_seal(data, find_seals(data)[0])


@pytest.mark.parametrize(
    "raw",
    [
        b"not JSON",
        b"[" * 3000,
        b'{"alg":"EdDSA","alg":"none"}',
        b'{"a":NaN}',
        b"\xff\xfe",
        b"{}",
    ],
)
def test_a_header_that_is_no_json_object_is_refused(raw):
    data = forged(raw)
    with pytest.raises(SignatureError, match="unknown kind"):
        check_seal(data, find_seals(data)[0])


def test_the_spare_bits_of_the_signature_are_not_free():
    data = made()
    last = data[-4:-3]
    alphabet = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    index = alphabet.index(last)
    for other in range(index & ~15, index | 15):
        if other != index:
            changed = data[:-4] + alphabet[other : other + 1] + data[-3:]
            with pytest.raises(SignatureError):
                check_seal(changed, find_seals(changed)[0])


def test_lines_that_only_begin_as_seals_are_damage():
    for line in (b'{"seal":""}', b'{"seal":"a..b"}', b'{"seal":7}', b'{"seal":"a.b.c"} '):
        with pytest.raises(SignatureError, match="begins as a seal"):
            find_seals(ABOVE + line + b"\n")
    assert find_seals(ABOVE + b'{"seal":"cut sho') == []


def test_a_second_seal_marks_the_lines_since_the_first_only():
    first = made()
    note = b'{"note":"y"}\n'
    second = make_seal(first + note, TECHNICIAN.key, "technician", "A. Miller", SIGNED_UTC)
    assert second.startswith(make_marks(first + note, after=len(first)))
    assert made().startswith(ABOVE + make_marks(ABOVE, after=0))


def test_a_header_may_have_4096_characters_and_no_more():
    # protocol/README.md, 3.3; 3072 bytes are 4096 characters of base64url.
    spare = 3072 - len(json.dumps(header(by="")))
    longest = forged(header(by="A" * spare))
    assert len(find_seals(longest)[0].head) == 4096
    assert check_seal(longest, find_seals(longest)[0]).by == "A" * spare
    with pytest.raises(SignatureError, match="begins as a seal"):
        find_seals(forged(header(by="A" * (spare + 1))))


def test_a_long_name_is_signed_as_it_is():
    data = ABOVE + make_seal(ABOVE, TECHNICIAN.key, "technician", "A" * 2600, SIGNED_UTC)
    assert check_seal(data, find_seals(data)[0]).by == "A" * 2600


def test_a_seal_on_the_second_line_is_found_below_an_empty_one():
    line = made()[len(ABOVE) :].split(b"\n")[1] + b"\n"
    assert [(seal.line, seal.start) for seal in find_seals(b"\n" + line)] == [(2, 1)]


def test_a_million_seals_are_refused_at_once():
    line = made()[len(ABOVE) :].split(b"\n")[1] + b"\n"
    with pytest.raises(SignatureError, match=f"more than {MOST_SEALS} seals"):
        find_seals(ABOVE + line * 100_000)
    full = ABOVE + line * MOST_SEALS
    with pytest.raises(SignatureError, match="takes no more"):
        make_seal(full, TECHNICIAN.key, "technician", "A", SIGNED_UTC)


def test_sha_256_of_fips_180():
    # FIPS 180-4, the examples of "abc" and of the empty message.
    assert hashlib.sha256(b"abc").hexdigest().startswith("ba7816bf")
    assert hashlib.sha256(b"").hexdigest().endswith("b855")


def test_a_public_half_cannot_seal():
    with pytest.raises(SignatureError, match="secret half"):
        make_seal(ABOVE, OKPKey.import_key(dict(JWK)), "technician", "A", SIGNED_UTC)

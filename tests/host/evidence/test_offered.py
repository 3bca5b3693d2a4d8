import json

import pytest

from rockhold.errors import CaptureError, KeyStoreError
from rockhold.evidence.keyfile import KeyRecord, jwk_of, to_text
from rockhold.evidence.offered import offered_keys
from support_evidence import BOARD_SECRET, TECHNICIAN, BenchBoard, make_capture, public_of

PUBLIC = public_of(TECHNICIAN)


def test_digits_a_jwk_a_key_file_and_a_capture(tmp_path):
    assert offered_keys(PUBLIC.hex(), "board") == [(PUBLIC, "")]
    source = tmp_path / "source"
    source.write_text(json.dumps(jwk_of(PUBLIC) | {"use": "sig", "kid": "x"}))
    assert offered_keys(str(source), "reviewer") == [(PUBLIC, "")]
    source.write_text(to_text(KeyRecord("Anna", "technician", PUBLIC, "")))
    assert offered_keys(str(source), "technician") == [(PUBLIC, "Anna")]
    with pytest.raises(KeyStoreError, match="of a technician, not of a board"):
        offered_keys(str(source), "board")
    path = str(make_capture(tmp_path / "a.capture"))
    assert offered_keys(path, "technician") == [(PUBLIC, "A. Miller")]
    board = BenchBoard(BOARD_SECRET).identity
    assert offered_keys(path, "board") == [(board.public_key, "bench board")]
    assert offered_keys(path, "reviewer") == []


def test_a_capture_whose_board_did_not_sign_or_that_is_damaged_offers_none(tmp_path):
    path = make_capture(tmp_path / "a.capture", board_secret=None)
    with pytest.raises(CaptureError, match="no seal of a board"):
        offered_keys(str(path), "board")
    path.write_bytes(path.read_bytes().replace(b"T-118", b"T-119"))
    for role in ("board", "technician"):
        with pytest.raises(CaptureError):
            offered_keys(str(path), role)

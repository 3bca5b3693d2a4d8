import hashlib
import json
import time

import pytest

from rockhold.errors import (
    ResultDiffersError,
    SignatureError,
    UnsealedError,
)
from rockhold.evidence import findings as f
from rockhold.evidence.countersign import countersign
from rockhold.evidence.seal import make_seal
from rockhold.evidence.verify import verify_file
from support_evidence import (
    REVIEWER,
    SIGNED_UTC,
    TECHNICIAN,
    TRUST,
    make_capture,
    trusting,
    without_seals,
)


@pytest.fixture
def path(tmp_path):
    return make_capture(tmp_path / "a.capture")


@pytest.mark.parametrize("verdict", ["accept", "reject"])
def test_a_review_is_added_below_and_changes_nothing_above(path, verdict):
    before = path.read_bytes()
    assert countersign(path, REVIEWER, verdict, "three ½ cycles", TRUST).state == f.GOOD
    assert path.read_bytes().startswith(before)
    found = verify_file(path, TRUST)
    assert found.state == f.GOOD
    assert [(s.role, s.verdict, s.because) for s in found.seals] == [
        ("technician", "", ""),
        ("reviewer", verdict, "three ½ cycles"),
    ]
    countersign(path, REVIEWER, "reject", "changed my mind", TRUST)
    assert [s.verdict for s in verify_file(path, TRUST).seals] == ["", verdict, "reject"]


def test_a_damaged_or_unsealed_capture_is_not_reviewed(path):
    data = path.read_bytes()
    for changed, error, words in (
        (data.replace(b"T-118", b"T-119"), SignatureError, "not reviewed: Line 1"),
        (without_seals(data), UnsealedError, "not sealed to its end"),
        (data + b'{"note":"x"}\n', UnsealedError, "not sealed to its end"),
        (data + b"{", UnsealedError, "not sealed to its end"),
    ):
        path.write_bytes(changed)
        with pytest.raises(error, match=words):
            countersign(path, REVIEWER, "reject", "no", TRUST)
        assert path.read_bytes() == changed


def test_of_several_faults_the_first_is_told(path):
    data = path.read_bytes()
    path.write_bytes(data.replace(b"T-118", b"T-119") + b'{"seal":"no seal"}\n')
    first, *others = (text for _, text in verify_file(path, TRUST).problems)
    assert others
    with pytest.raises(SignatureError) as caught:
        countersign(path, REVIEWER, "reject", "no", TRUST)
    assert str(caught.value) == (
        f"{path} is not reviewed: {first} `rockhold verify {path}` tells more"
    )


def test_a_file_that_changed_since_it_was_shown_is_not_reviewed(path):
    data = path.read_bytes()
    with pytest.raises(SignatureError, match="has changed since you were shown it"):
        countersign(path, REVIEWER, "accept", "fine", TRUST, hashlib.sha256(b"x").hexdigest())
    assert path.read_bytes() == data
    shown = hashlib.sha256(data).hexdigest()
    before_us = time.time_ns() // 1000
    assert countersign(path, REVIEWER, "accept", "fine", TRUST, shown).state == f.GOOD
    entry = json.loads(path.read_bytes()[len(data) :].split(b"\n")[0])
    assert before_us <= entry["host_utc_us"] <= time.time_ns() // 1000


def test_a_wrong_result_can_only_be_rejected(path):
    above = without_seals(path.read_bytes()).replace(b'"verdict":"accept"', b'"verdict":"reject"')
    seal = make_seal(above, TECHNICIAN.key, "technician", "A. Miller", SIGNED_UTC)
    path.write_bytes(above + seal)
    for trust in (TRUST, trusting(REVIEWER)):  # that nobody knows the signer comes second
        with pytest.raises(
            ResultDiffersError, match=r"cannot be accepted: The result on line .* rejected"
        ):
            countersign(path, REVIEWER, "accept", "fine", trust)
    assert countersign(path, REVIEWER, "reject", "no", TRUST).state == f.NOT_REPRODUCED


def test_who_reviews_is_told_what_is_not_trusted(path):
    found = countersign(path, REVIEWER, "accept", "I was there", trusting(REVIEWER))
    assert found.state == f.UNKNOWN_KEY

import pytest

from rockhold.capture.lines import to_line
from rockhold.evidence.reviews import review_entry, review_under
from rockhold.evidence.seal import check_seal, find_seals, make_seal
from support_evidence import REVIEWER, SIGNED_UTC, TECHNICIAN

ABOVE = b'{"rockhold":"capture"}\n'
ENTRY = to_line(review_entry("O. Quist", "reject", "too loose: ½", 5))


def found_under(above, signer=REVIEWER):
    data = above + make_seal(above, signer.key, signer.role, signer.name, SIGNED_UTC)
    seal = find_seals(data)[-1]
    return review_under(data, seal, check_seal(data, seal))


def test_a_review_stands_right_above_the_reviewers_seal():
    assert found_under(ABOVE + ENTRY) == ("reject", "too loose: ½")
    assert found_under(ABOVE + ENTRY + b'{"note":"x"}\n') == ("", "")
    assert found_under(ABOVE) == ("", "")


def test_a_technician_reviews_nothing():
    assert found_under(ABOVE + ENTRY, TECHNICIAN) == ("", "")


@pytest.mark.parametrize(
    "line",
    [b'{"entry":"review"', b'{"entry":"review"}', b'{"entry":"review","verdict":["accept"]}'],
)
def test_a_review_without_a_verdict_is_none(line):
    assert found_under(ABOVE + line + b"\n")[0] == ""

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


def test_a_question_is_a_remark_and_no_verdict():
    ask = to_line(review_entry("O. Quist", "ask", "which gauge was it?", 5))
    assert found_under(ABOVE + ask) == ("", "which gauge was it?")
    assert found_under(ABOVE + b'{"entry":"remark"}\n') == ("", "")
    assert found_under(ABOVE + b'{"entry":"review","verdict":"accept"}\n') == ("accept", "")


def test_the_entries_are_those_of_the_format():
    # protocol/README.md, 3.2: the names of an entry.
    about = {"by": "O. Quist", "host_utc_us": 5}
    assert review_entry("O. Quist", "ask", "why?", 5) == about | {"entry": "remark", "text": "why?"}
    assert review_entry("O. Quist", "reject", "no", 5) == about | {
        "entry": "review",
        "verdict": "reject",
        "because": "no",
    }


def test_a_technician_reviews_nothing():
    assert found_under(ABOVE + ENTRY, TECHNICIAN) == ("", "")


@pytest.mark.parametrize(
    "line",
    [b'{"entry":"review"', b'{"entry":"review"}', b'{"entry":"review","verdict":["accept"]}'],
)
def test_a_review_without_a_verdict_is_none(line):
    assert found_under(ABOVE + line + b"\n")[0] == ""

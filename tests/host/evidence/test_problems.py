import dataclasses

from rockhold.evidence import findings as f
from rockhold.evidence.findings import BoardFound, SealFound
from rockhold.evidence.problems import seal_problems, trust_problems

SEAL = SealFound(3, "technician", "A. Miller", "t", "k", "p", True, "A. Miller", "")
BOARD = BoardFound("id", "board", "k", "p", 9, 8, True, True, True, True, "7", "")


def sentences(problems):
    return [sentence for _, sentence in problems]


def test_what_no_seal_covers_is_named_by_its_lines():
    assert list(seal_problems(b"1\n2\n3\n", [SEAL])) == []
    assert sentences(seal_problems(b"1\n2\n", [])) == [
        "It ends at line 2 and nobody has sealed it."
    ]
    assert sentences(seal_problems(b"\n" * 4, [SEAL])) == ["Line 4 stands below the last seal."]
    assert sentences(seal_problems(b"\n" * 6, [SEAL])) == [
        "Lines 4 to 6 stand below the last seal."
    ]
    assert sentences(seal_problems(b"\n\n\nx", [SEAL])) == [
        "The file ends inside line 4: cut short."
    ]
    reviewed = dataclasses.replace(SEAL, role="reviewer")
    assert sentences(seal_problems(b"\n\n\n", [reviewed])) == [
        "No technician has sealed it up to line 3."
    ]


def test_whose_word_need_not_be_taken():
    assert list(trust_problems([SEAL], BOARD)) == []
    assert list(trust_problems([SEAL], None)) == []
    strange = dataclasses.replace(SEAL, trusted=False, remark="nobody here trusts this key")
    assert list(trust_problems([strange], None)) == [
        (f.UNKNOWN_KEY, "Seal of A. Miller, technician, line 3: nobody here trusts this key.")
    ]
    (state, _) = next(trust_problems([], dataclasses.replace(BOARD, trusted=False)))
    assert state == f.UNKNOWN_KEY


def test_a_board_that_did_not_sign():
    for facts, words in (
        ({"key": ""}, "has no key"),
        ({}, "its seal is missing below line 8"),
        ({"closed": False}, "breaks off at line 8, after 9 records; nobody answers"),
    ):
        board = dataclasses.replace(BOARD, sealed=False, **facts)
        ((state, sentence),) = trust_problems([], board)
        assert state == f.UNSEALED
        assert words in sentence

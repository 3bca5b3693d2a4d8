import dataclasses

from rockhold.evidence import findings as f
from rockhold.evidence.findings import ResultFound, SealFound, Verification, worst
from rockhold.evidence.method import METHOD
from rockhold.evidence.words import (
    HEADLINES,
    NO_PERSON,
    OTHERWISE_TODAY,
    SHORT,
    in_full,
    one_line,
    plain,
)


def test_every_state_has_words():
    for state in f.ORDER:
        found = Verification("x.capture", state, ((state, "Because."),))
        shown = NO_PERSON if state == f.UNKNOWN_KEY else HEADLINES[state]  # it has no seal at all
        assert shown in in_full(found)
        assert one_line(found).startswith(SHORT[state])
        assert "Because." in one_line(found)
    assert worst([]) == f.GOOD
    assert worst([f.UNSEALED, f.DAMAGED, f.UNREADABLE]) == f.DAMAGED


def test_a_files_texts_cannot_steer_the_terminal():
    assert plain("a\x1b[2Jb\nc\u202e") == "a\\x1b[2Jb\\nc\\u202e"
    seal = SealFound(
        3, "reviewer", "\x1b]0;x\x07", "t", "k", "p", True, "x", "", "accept", "fine\rGOOD"
    )
    found = Verification("x\x1b", f.GOOD, (), None, (seal,), job={"vehicle": "\x9b1m"})
    assert "\x1b" not in in_full(found)
    assert "\r" not in in_full(found)
    assert "\x9b" not in in_full(found)


def test_who_is_known_under_another_name_is_shown_as_both():
    seal = SealFound(3, "technician", "A. Miller", "t", "k", "p", True, "Anna", "remark")
    text = in_full(Verification("x", f.GOOD, seals=(seal,)))
    assert 'A. Miller, t, line 3; key p, trusted as "Anna" (remark)' in text
    rejected = dataclasses.replace(seal, role="reviewer", verdict="reject")
    assert "Rejected by" in in_full(Verification("x", f.GOOD, seals=(rejected,)))


def test_a_result_by_an_older_method_is_not_called_forged():
    result = ResultFound(9, False, "End play …", "verdict: accept stored", METHOD - 1)
    text = in_full(Verification("x", f.NOT_REPRODUCED, result=result))
    assert OTHERWISE_TODAY in text
    assert "nobody changed it" in text
    same_method = dataclasses.replace(result, method=METHOD)
    assert "do not use" in in_full(Verification("x", f.NOT_REPRODUCED, result=same_method))

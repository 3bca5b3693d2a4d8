from pathlib import Path

import pytest

from rockhold.capture.reader import Capture
from rockhold.errors import TooFewSamplesError
from rockhold.evidence import compare
from rockhold.evidence.compare import compare_results
from rockhold.evidence.findings import ResultFound
from rockhold.evidence.method import METHOD

RESULT = {
    "end_play_mm": 0.0762,
    "expanded_mm": 0.01,
    "verdict": "accept",
    "findings": [{"code": "data_gap", "at_s": 1.5, "text": "old words"}],
    "sentence": "End play …",
}


def capture(*results, method=METHOD):
    others = tuple(
        (number, {"result": result, "method": method})
        for number, result in enumerate(results, start=7)
    )
    return Capture(Path("x"), {}, (), others, (), False, 0)


def found(stored, computed=RESULT, method=METHOD):
    return compare_results(capture(stored, method=method), lambda capture: computed)


def test_the_same_is_reproduced_whatever_the_words():
    assert found(RESULT).reproduced is True
    for word in ("text", "sentence", "source", "cause"):
        rows = [RESULT | {"budget": [{"u_mm": 0.1, word: said}]} for said in ("old", "new")]
        assert found(*rows).reproduced is True
    words = RESULT | {"findings": [RESULT["findings"][0] | {"text": "new"}], "sentence": "x"}
    assert found(words).reproduced is True


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"end_play_mm": 0.0763}, "end_play_mm: 0.0763 stored, the readings give 0.0762"),
        ({"end_play_mm": None}, "None stored"),
        ({"end_play_mm": True}, "True stored"),
        ({"end_play_mm": "0.0762"}, "stored"),
        ({"verdict": "reject"}, "reject stored"),
        ({"findings": []}, "findings: 0 stored, the readings give 1"),
        ({"findings": [{"code": "no_hold", "at_s": 1.5}]}, "findings 1.code"),
        ({"invented": 1}, "invented: 1 stored, the readings give None"),
    ],
)
def test_a_difference_is_named(change, words):
    answer = found(RESULT | change)
    assert answer.reproduced is False
    assert words in answer.difference


def test_the_last_digit_of_another_computer_and_names_of_a_newer_one_do_not_matter():
    assert found(RESULT | {"end_play_mm": 0.076201}).reproduced is True
    assert found(RESULT, RESULT | {"more": 5}).reproduced is True


def test_numbers_agree_to_a_hundred_thousandth_and_no_further():
    # Far below the last digit that is told of an end play, far above what arithmetic differs by.
    for off, same in ((1.9e-6, True), (2.1e-6, False)):
        assert found(RESULT | {"drift_mm": off}, RESULT | {"drift_mm": 0.0}).reproduced is same
    for off, same in ((0.99e-5, True), (1.02e-5, False)):
        more = RESULT | {"duration_s": 100.0}
        assert found(RESULT | {"duration_s": 100.0 * (1 + off)}, more).reproduced is same


def test_yes_is_not_one_and_a_list_is_not_a_number():
    for value, other in ((True, 1), ({"a": 1}, 5), (5, {"a": 1}), ([1], 5), (5, [1])):
        assert found(RESULT | {"more": value}, RESULT | {"more": value}).reproduced is True
        assert found(RESULT | {"more": value}, RESULT | {"more": other}).reproduced is False


def test_the_answer_says_line_sentence_and_method():
    assert found(RESULT) == ResultFound(7, True, "End play …", "", METHOD, "accept")
    assert found({k: v for k, v in RESULT.items() if k != "sentence"}).sentence == ""
    assert found({k: v for k, v in RESULT.items() if k != "verdict"}).verdict == ""
    assert compare_results(capture(), lambda capture: RESULT) == ResultFound(0, None, "", "", 0)
    silent = capture(RESULT, method="1")
    assert compare_results(silent, lambda capture: RESULT).method == 0


@pytest.mark.parametrize("name", ["end_play_mm", "expanded_mm", "verdict", "findings"])
def test_what_must_be_said_must_be_said(name):
    shorter = {key: value for key, value in RESULT.items() if key != name}
    assert f"does not say {name}" in found(shorter).difference


def test_of_several_things_that_are_not_said_the_first_is_told():
    assert "does not say end_play_mm" in found({"verdict": "accept"}).difference


def test_every_stored_result_counts():
    both = capture(RESULT | {"verdict": "reject"}, RESULT)
    answer = compare_results(both, lambda capture: RESULT)
    assert (answer.reproduced, answer.line) == (False, 7)
    strange = compare_results(capture(5), lambda capture: RESULT)
    assert strange.difference.startswith("the result")
    assert (strange.sentence, strange.verdict) == ("", "")
    assert compare_results(capture(), lambda capture: RESULT).reproduced is None


def test_readings_that_cannot_be_measured_give_no_end_play():
    def too_few(capture):
        raise TooFewSamplesError("too few readings")

    nothing = {"end_play_mm": None, "expanded_mm": None, "verdict": None, "findings": []}
    assert compare_results(capture(nothing), too_few).reproduced is True
    answer = compare_results(capture(RESULT), too_few)
    assert answer.difference == (
        "end_play_mm: 0.0762 stored, the readings give None (too few readings)"
    )


def test_a_result_by_an_older_method_agrees_within_its_uncertainty(monkeypatch):
    monkeypatch.setattr(compare, "METHOD", 2)
    new = RESULT | {"end_play_mm": 0.081, "findings": []}
    answer = found(RESULT, new, method=1)
    assert (answer.reproduced, answer.method) == (True, 1)
    away = found(RESULT, new | {"end_play_mm": 0.0863}, method=1)
    assert away.difference == "end_play_mm: 0.0762 stored, the readings give 0.0863"
    nothing = RESULT | {"end_play_mm": None, "expanded_mm": None}
    assert found(nothing, new, method=1).difference.startswith("end_play_mm: None stored")
    assert found(nothing, new | {"end_play_mm": None}, method=1).reproduced is True
    other = found(RESULT, new | {"verdict": "reject"}, method=1)
    assert other.difference == "verdict: accept stored, the readings give reject"
    assert found(RESULT, new | {"end_play_mm": None}, method=1).reproduced is False
    assert "Use a newer one" in found(RESULT, new, method=3).difference


@pytest.mark.parametrize("method", [METHOD - 1, METHOD, METHOD + 1])
def test_where_nothing_was_computed_nothing_is_said_of_the_result(method):
    seen = compare_results(capture(RESULT, method=method), lambda capture: None)
    assert seen == ResultFound(7, None, "End play …", "", method, "accept")

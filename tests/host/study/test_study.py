"""From trials to repeatability and reproducibility."""

import numpy as np
import pytest

from rockhold.errors import CaptureFormatError, TooFewSamplesError
from rockhold.procedure.endplay import shipped_limits
from rockhold.study.study import (
    MEASURING,
    REPEATABILITY,
    REPRODUCIBILITY,
    TOTAL,
    WHEEL_ENDS,
    study_of,
)
from rockhold.study.trials import Table, Trial, read_trials, table_of

TRUTH_MM = {"person": 0.004, "wheel end": 0.020, "both": 0.002, "repeat": 0.003}


def table(rng, shape=(3, 10, 3)):
    persons, wheel_ends, _ = shape
    values = (
        0.08 + rng.normal(0, TRUTH_MM["person"], (persons, 1, 1))
        + rng.normal(0, TRUTH_MM["wheel end"], (1, wheel_ends, 1))
        + rng.normal(0, TRUTH_MM["both"], (persons, wheel_ends, 1))
        + rng.normal(0, TRUTH_MM["repeat"], shape)
    )  # fmt: skip
    return Table(
        tuple(f"p{i}" for i in range(persons)), tuple(f"w{i}" for i in range(wheel_ends)), values
    )


def test_the_parts_are_right_in_the_mean_and_their_intervals_cover_them():
    rng = np.random.default_rng(11)
    truth = {
        REPEATABILITY: TRUTH_MM["repeat"] ** 2,
        REPRODUCIBILITY: TRUTH_MM["person"] ** 2 + TRUTH_MM["both"] ** 2,
        WHEEL_ENDS: TRUTH_MM["wheel end"] ** 2,
    }
    truth[MEASURING] = truth[REPEATABILITY] + truth[REPRODUCIBILITY]
    runs = 400
    seen, covered = dict.fromkeys(truth, 0.0), dict.fromkeys(truth, 0)
    for _ in range(runs):
        study = study_of(table(rng), shipped_limits())
        for name, value in truth.items():
            part = study.part(name)
            seen[name] += part.s_mm**2 / runs
            covered[name] += part.low_mm**2 <= value <= part.high_mm**2
    for name, value in truth.items():
        # Three people: their variance scatters by its own size in each run, by a twentieth here.
        assert seen[name] == pytest.approx(value, rel=0.16), name
        assert 0.92 <= covered[name] / runs <= 0.99, name


def test_shares_follow_from_the_band_and_the_total():
    study = study_of(table(np.random.default_rng(1)), shipped_limits())
    part, total = study.part(MEASURING), study.part(TOTAL)
    assert part.of_band_percent == pytest.approx(100 * 6 * part.s_mm / 0.1016, rel=1e-9)
    squares = [study.part(name).of_total_percent ** 2 for name in (MEASURING, WHEEL_ENDS)]
    assert sum(squares) == pytest.approx(100.0**2, rel=1e-9)
    assert total.of_total_percent == pytest.approx(100.0)


def test_one_person_gives_repeatability_and_says_what_is_missing():
    study = study_of(table(np.random.default_rng(1), (1, 10, 3)), shipped_limits())
    assert [part.name for part in study.parts] == [REPEATABILITY, MEASURING, WHEEL_ENDS, TOTAL]
    assert "One person measured" in study.remarks[0]


def trials(cells):
    return [
        Trial(person, wheel_end, str(number), 0.08)
        for (person, wheel_end), count in cells.items()
        for number in range(count)
    ]


@pytest.mark.parametrize(
    ("cells", "sentence"),
    [
        ({}, "a study needs at least 2 wheel ends"),
        ({("A", "w1"): 3, ("B", "w1"): 3}, "at least 2 wheel ends"),
        ({("A", "w1"): 1, ("A", "w2"): 1}, "2 trials of each"),
        ({("A", "w1"): 3, ("A", "w2"): 3, ("B", "w1"): 3}, "B at w2: 0. Measure what is missing"),
        ({("A", "w1"): 3, ("A", "w2"): 2}, r"equally often \(3 times here\), but A at w2: 2"),
    ],
)
def test_too_little_or_uneven_gets_a_sentence(cells, sentence):
    with pytest.raises(TooFewSamplesError, match=sentence):
        table_of(trials(cells))


def test_the_order_of_lines_does_not_matter(tmp_path):
    lines = [f"{p},{w},{t},{p}{w}{t}" for p in (1, 2) for w in (3, 4) for t in (5, 6)]
    for order in (lines, lines[::-1]):
        path = tmp_path / "a.csv"
        path.write_text("person,wheel_end,trial,end_play_mm\n" + "\n".join(order) + "\n")
        values = table_of(read_trials(path)).values_mm
        assert values[1, 0].tolist() == [235, 236]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("person,trial\n", "must name person, wheel_end, trial"),
        ("person,wheel_end,trial,end_play_mm\nA,w,1,tight\n", "line 2: end_play_mm is 'tight'"),
        ("person,wheel_end,trial,end_play_mm\nA,w,1,nan\n", "no number"),
        ("person,wheel_end,trial,end_play_mm\nA,,1,0.1\n", "is empty"),
        ("person,wheel_end,trial,end_play_mm\nA,w,1\n", "no number"),
    ],
)
def test_a_table_that_cannot_be_read_gets_a_sentence(tmp_path, text, sentence):
    path = tmp_path / "a.csv"
    path.write_text(text)
    with pytest.raises(CaptureFormatError, match=sentence):
        read_trials(path)


def test_inches_are_turned_into_millimetres(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("person,wheel_end,trial,end_play_in\nA,w,1,0.003\n")
    assert read_trials(path)[0].end_play_mm == pytest.approx(0.0762)


def test_the_same_trial_twice_is_said():
    with pytest.raises(TooFewSamplesError, match="trial 1 of A at w is there twice"):
        table_of([Trial("A", "w", "1", 0.1), Trial("A", "w", "1", 0.2)])


def test_trials_that_are_all_alike_are_no_praise():
    trials = [Trial(p, w, t, 0.05) for p in "AB" for w in "xy" for t in "12"]
    study = study_of(table_of(trials), shipped_limits())
    assert any("too coarse" in remark for remark in study.remarks)

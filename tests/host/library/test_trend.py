"""One wheel end over its life."""

import pytest

from rockhold.library.adding import write_batch
from rockhold.library.facts import read_facts
from rockhold.library.index import open_library
from rockhold.library.trend import FOUND, LEFT, trend_of
from support_evidence import without_seals
from support_library import growing_bases, step, variant


@pytest.fixture(scope="module")
def bases(tmp_path_factory):
    return growing_bases(tmp_path_factory.mktemp("bases"))


@pytest.fixture
def library(tmp_path):
    with open_library(str(tmp_path / "library.sqlite")) as library:
        yield library


def put(library, folder, *captures):
    paths = [folder / f"{number}.capture" for number in range(len(captures))]
    for path, data in zip(paths, captures, strict=True):
        path.write_bytes(data)
    write_batch(library, [read_facts(path) for path in paths])


def monthly(bases, **options):
    return [
        variant(base, opened_utc=f"2026-{month:02}-01T09:00:00Z", **options)
        for month, base in enumerate(bases, start=1)
    ]


def test_another_file_of_the_same_capture_does_not_count_twice(library, tmp_path, bases):
    first = variant(bases[0], opened_utc="2026-01-01T09:00:00Z")
    put(library, tmp_path, without_seals(first), first, monthly(bases)[1])
    life = trend_of(library, "1207", "axle 2, left")
    assert [point.entry.columns["state"] for point in life.points] == ["sealed", "sealed"]
    assert [because for _, because in life.left_out] == [
        "another file of a measurement that is here already"
    ]


def test_growth_is_seen_and_written_as_it_is_spelled(library, tmp_path, bases):
    put(library, tmp_path, *monthly(bases))
    life = trend_of(library, "1207", "AXLE 2 left")
    assert [point.when.month for point in life.points] == [1, 2, 3, 4, 5]
    assert life.growth.grows
    # 0.060 mm from January to May, 120 days
    assert life.growth.slope_mm_per_year == pytest.approx(0.060 * 365.25 / 120, abs=0.02)


def test_no_growth_is_not_seen(library, tmp_path, bases):
    put(library, tmp_path, *monthly([bases[2]] * 5))
    assert not trend_of(library, "1207", "axle 2, left").growth.grows


def test_setting_the_nut_begins_a_new_life(library, tmp_path, bases):
    was, now = {"end_play_mm": 0.11, "expanded_mm": 0.01}, {"end_play_mm": 0.04}
    steps = [
        step("as found", "end_play", **was),
        step("loosen", "turn", outcome="skipped"),
        step("re-torque", "torque"),
        step("as left", "end_play", **now),
    ]
    captures = monthly(bases[:3])
    captures.append(variant(bases[0], opened_utc="2026-06-01T09:00:00Z", entries=steps))
    put(library, tmp_path, *captures)
    life = trend_of(library, "1207", "axle 2, left")
    assert [point.what for point in life.points] == [LEFT, LEFT, LEFT, FOUND, LEFT]
    assert life.points[3].end_play_mm == 0.11
    assert life.points[3].u_mm == pytest.approx(0.005, rel=0.05)
    assert life.since == 4
    assert life.growth is None


def test_steps_that_never_touch_the_nut_change_nothing(library, tmp_path, bases):
    steps = [step("re-torque", "torque", outcome="skipped"), step("look", "check")]
    put(library, tmp_path, variant(bases[0], entries=steps))
    (point,) = trend_of(library, "1207", "axle 2, left").points
    assert (point.what, point.nut_set) == (LEFT, False)


def test_damaged_captures_are_left_out_with_the_reason(library, tmp_path, bases):
    captures = monthly(bases)
    captures[1] = captures[1].replace(b'"verdict":"accept"', b'"verdict":"reject"')
    put(library, tmp_path, *captures)
    life = trend_of(library, "1207", "axle 2, left")
    assert len(life.points) == 4
    assert [because for _, because in life.left_out] == ["it is damaged"]

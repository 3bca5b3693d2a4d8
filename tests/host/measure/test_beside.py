"""A zero pressed where the holds' levels do not show it, and what is none, on jobs made by hand."""

from collections import Counter
from dataclasses import replace
from statistics import median

import numpy as np
import pytest

from host.measure.jobs import LIMITS, NO_CERTIFICATE
from host.measure.situations import one_of
from host.measure.worked import COARSE_KIND, FINE_KIND, KINDS, cycles, in_finer_counts, job
from rockhold.measure.beside import find_press_beside
from rockhold.measure.choice import choose
from rockhold.measure.holds import find_holds
from rockhold.measure.measure import measure_trace
from rockhold.measure.steps import stood, zero_candidates

FIRST_REST, FIRST_ROCK, FIRST_HOLD, LAST_HOLD, LAST_REST = 0, 1, 2, 12, 13
NEARLY_MM = {FINE_KIND: 0.0008, COARSE_KIND: 0.005}


def whole(kind, about=0.0, rest=0.1, after=0.2, **more):
    """Return a job of three cycles with the wheel left alone before and after."""
    alone = [("rest", about + rest * kind.side, 2.0), ("rest", about + after * kind.side, 2.0)]
    return job(kind, [alone[0], *cycles(kind, 3, about), alone[1]], **more)


def measured(spoilt):
    """Return (code, reading) of what is found; the end play is right."""
    result = measure_trace(spoilt.trace(), LIMITS, NO_CERTIFICATE)
    assert result.end_play_mm == pytest.approx(spoilt.end_play_mm, abs=NEARLY_MM[spoilt.kind])
    assert result.cycles == 3
    return [(f.code, round(f.at_s * spoilt.kind.rate_hz)) for f in result.findings]


def beside(spoilt, times=1):
    """Return the press beside the work, looked for alone."""
    axis = in_finer_counts(spoilt.axis(), times)
    holds, band = find_holds(axis, LIMITS)
    return find_press_beside(axis, axis.count, holds, band)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("about", [-250, 250])
@pytest.mark.parametrize(
    ("piece", "share"),
    [
        (FIRST_REST, 0.5),
        (FIRST_ROCK, 0.2),
        (FIRST_HOLD, 0.2),
        (FIRST_HOLD, 0.6),
        (LAST_HOLD, 0.2),
        (LAST_HOLD, 0.6),
        (LAST_REST, 0.4),
    ],
)
def test_pressed_far_from_zero(kind, about, piece, share):
    clean = whole(kind, about)
    at = clean.at(piece, share)
    assert measured(clean.pressed(at)) == [("zero_pressed", at)]
    step = beside(clean.pressed(at))
    if step is not None:  # in mid-hold the levels may show it, too
        assert (step.kind, step.index) == ("zero_pressed", at)
        assert step.size == pytest.approx(-clean.exact[at], abs=kind.swing)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rest", [-0.6, 0.0, 0.6])
@pytest.mark.parametrize(("piece", "share"), [(FIRST_REST, 0.7), (LAST_HOLD, 0.7)])
def test_a_wheel_left_alone_before_a_press_or_after_one_is_no_knock(kind, rest, piece, share):
    # Its level lies at no side, as if one hold were off by something else than what was pressed.
    clean = whole(kind, 120, rest=rest, after=rest)
    at = clean.at(piece, share)
    assert measured(clean.pressed(at)) == [("zero_pressed", at)]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("piece", [FIRST_HOLD, LAST_HOLD])
def test_pressed_between_the_sides(kind, piece):
    # Zero was half way from side to side: what lies beyond the press is in the work's range.
    clean = whole(kind, rest=-0.5)
    at = clean.at(piece, 0.5)
    assert measured(clean.pressed(at)) == [("zero_pressed", at)]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("piece", [FIRST_HOLD, LAST_HOLD])
def test_the_finger_on_the_button_bends_the_gauge(kind, piece):
    clean = whole(kind, 250)
    at, touch_s = clean.at(piece, 0.3), round(0.15 * kind.rate_hz)
    bent = clean.moved(at - touch_s, at + touch_s, -0.008 / kind.step_mm)
    assert measured(bent.pressed(at)) == [("zero_pressed", at)]


def test_the_bounds_of_a_bend():
    # Three tenths of the jump; 50 counts are pressed away.
    def bent(by):
        clean = whole(FINE_KIND, 30)  # its lower side lies at zero
        level = np.full(40, 50.0)
        level[17:23] += by
        level[20:] -= level[20]
        exact = clean.exact.copy()
        at = clean.at(LAST_HOLD, 0.2)
        exact[at : at + 40] = level
        return stood(replace(clean, exact=exact[: at + 40]).axis(), at + 20)

    assert bent(0)
    assert bent(11)
    assert not bent(-13)  # of then 37 that are pressed away
    assert not bent(27)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_of_an_honest_job(kind):
    for about in (-250, -kind.side, 0, 0.4 * kind.side, kind.side, 250):
        for change_s in (0.2, 0.3, 0.6):
            honest = whole(kind, about, change_s=change_s)
            assert measured(honest) == []
            assert beside(honest) is None


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("depth_mm", [-0.9, 0.3])
@pytest.mark.parametrize("long_s", [0.3, 0.6])
@pytest.mark.parametrize("piece", [FIRST_ROCK, FIRST_HOLD, LAST_HOLD])
def test_a_plunger_that_comes_back_to_a_side_at_zero(kind, depth_mm, long_s, piece):
    zero = kind.side if piece == LAST_HOLD else -kind.side
    clean = whole(kind, zero)
    at = clean.at(piece, 0.5)
    hole = clean.moved(at - round(long_s * kind.rate_hz), at, depth_mm / kind.step_mm)
    assert beside(hole) is None
    told = {code for code, _ in measured(hole)}
    assert "plunger_dropped" in told
    assert told <= {"plunger_dropped", "no_hold"}  # the hole took the hold, too


@pytest.mark.parametrize("kind", KINDS)
def test_a_plunger_that_hangs_to_the_end(kind):
    clean = whole(kind, 250)
    at = clean.at(LAST_HOLD, 0.4)
    assert beside(clean.stood(at, len(clean.exact), 0.0)) is None
    trembling = clean.stood(at, len(clean.exact), 0.0)
    trembling.exact[at + 8 :: 7] += 1
    assert beside(trembling) is None  # by one count
    trembling.exact[at + 8 :: 7] += 1
    assert beside(trembling).index == at
    short = clean.stood(at, len(clean.exact), 0.0)
    enough = at + round(2.4 * kind.rate_hz)
    assert beside(replace(short, exact=short.exact[:enough])).index == at


@pytest.mark.parametrize("kind", KINDS)
def test_the_gauge_taken_off_or_set_up(kind):
    far = 3 / kind.step_mm
    quick = 1 / kind.rate_hz
    for change_s in (quick, 0.3):
        off = job(kind, [*cycles(kind), ("rest", far, 2.0)], change_s=change_s)
        assert beside(off) is None
        on = job(kind, [("rest", far, 2.0), *cycles(kind)], change_s=change_s)
        assert beside(on) is None


def test_a_wheel_let_go_where_it_was_left_alone_before():
    # Zero is set there often; a coarse gauge shows it back from one reading to the next.
    kind, quick = COARSE_KIND, 1 / COARSE_KIND.rate_hz
    assert beside(whole(kind, 0.0, rest=0.0, after=0.0, change_s=quick)) is None
    assert beside(whole(kind, 0.0, rest=0.2, after=0.0, change_s=quick)) is None
    # Had it been left alone elsewhere, zero is a place that it hardly finds by chance.
    found = beside(whole(kind, 0.0, rest=-0.55, after=0.0, change_s=quick))
    assert found.index == whole(kind).at(LAST_REST)


@pytest.mark.parametrize("times", [1, 8])
def test_few_counts_from_side_to_side_may_end_on_zero_by_chance(times):
    quick = 1 / COARSE_KIND.rate_hz
    for side, found in ((3.4, False), (4.6, True)):
        kind = replace(COARSE_KIND, side=side)
        let_go = whole(kind, 0.0, rest=-0.55, after=0.0, change_s=quick)
        assert (beside(let_go, times) is not None) == found


@pytest.mark.parametrize("times", [1, 8])
def test_a_jump_near_a_side_is_the_hubs(times):
    # A tenth of the way from side to side from a side, two counts at most; then two tenths.
    kind = replace(COARSE_KIND, side=10.0)
    quick = 1 / COARSE_KIND.rate_hz
    for share, found in ((0.8, False), (0.5, True)):
        let_go = whole(kind, -share * kind.side, rest=-0.2, after=share, change_s=quick)
        assert (beside(let_go, times) is not None) == found, share


@pytest.mark.parametrize("kind", KINDS)
def test_a_press_after_a_second_of_silence_cannot_be_told(kind):
    clean = whole(kind, 250)
    at = clean.at(FIRST_ROCK, 0.3)
    axis = clean.pressed(at).axis()
    t_s = axis.t_s + 1.5 * (np.arange(len(axis.count)) >= at)
    holds, band = find_holds(axis, LIMITS)
    silent = replace(axis, t_s=t_s)
    assert find_press_beside(axis, axis.count, holds, band).index == at
    assert find_press_beside(silent, axis.count, holds, band) is None


@pytest.mark.parametrize("kind", KINDS)
def test_of_two_holds_nobody_knows_the_sides(kind):
    for n, found in ((2, True), (1, False)):
        clean = job(kind, [("rest", 250, 0.6), *cycles(kind, n, 250)])
        pressed = clean.pressed(clean.at(FIRST_ROCK, 0.4))
        assert (beside(pressed) is not None) == found


# --- the rule by its words, on jobs drawn at random -----------------------------------------------


def press_by_the_rule(axis, holds, standing):
    """Return the reading of the press, and what told it."""
    chosen = choose(axis, holds)
    if len(chosen.holds) < 3:
        return None, "few"
    levels = [hold.level for hold in chosen.holds]
    room = max(0.015 / axis.step_mm, 2 * axis.digit)
    high = [h.level for h, up in zip(chosen.holds, chosen.upper, strict=True) if up]
    low = [h.level for h, up in zip(chosen.holds, chosen.upper, strict=True) if not up]
    apart = sum(high) / len(high) - sum(low) / len(low) if high and low else 0.0
    opening = [hold for hold in chosen.holds if hold.rocked] or [chosen.holds[0]]
    rows = list(zip(axis.t_s.tolist(), axis.count.tolist(), strict=True))
    why = "none"
    for i in standing:
        early = i <= opening[0].end
        if not early and i <= chosen.holds[-1].first:
            continue
        if early:
            beyond = [c for t, c in rows[:i] if t >= rows[i][0] - 1]
        else:
            beyond = [c for t, c in rows[i:] if t < rows[i][0] + 1]
        rest = [c for _, c in rows[i:]]
        if not beyond:
            continue
        if not early and len(rest) * axis.spacing_s >= 2.5 and np.ptp(rest) <= axis.digit:
            why = "hangs"
            continue
        alone = [h.level for h in holds if (h.first >= i if early else h.end <= i)]
        if axis.digit * axis.step_mm > 0.004 and any(
            abs(level - median(beyond)) <= axis.digit for level in alone
        ):
            why = "left alone"
            continue
        inside = [c for c in beyond if min(levels) - room <= c <= max(levels) + room]
        if len(inside) <= 0.1 * len(beyond):
            return i, "early, far" if early else "late, far"
        if early and not min(levels) - room <= median(beyond) <= max(levels) + room:
            why = "hole"
            continue
        off = min(abs(level - median(beyond)) for level in levels)
        if apart >= 8 * axis.digit and off > max(0.15 * apart, 1.5 * axis.digit):
            return i, "early, near" if early else "late, near"
        why = "near a side"
    return None, why


def some_job(rng):
    kind = replace(one_of(rng, KINDS), swing=rng.uniform(0, 1))
    kind = replace(kind, side=kind.side * rng.uniform(0.4, 1.5))
    what = one_of(rng, ("press", "press", "press", "hole", "hang", ""))
    about = -kind.side if what == "hole" else one_of(rng, (-1.0, 0.0, 0.3, 1.0, 9.0)) * kind.side
    rests = rng.choice([-0.5, 0.0, 0.1, 0.4, 1.0], 2)
    drawn = [
        ("rest", about + rests[0] * kind.side, rng.uniform(0.2, 2)),
        *cycles(kind, int(rng.integers(1, 5)), about, 1.2, 1.4),
        ("rest", about + rests[1] * kind.side, rng.uniform(0.2, 3)),
    ]
    quick = rng.random() < 0.4
    drawn = job(kind, drawn, change_s=0.05 if quick else 0.3, seed=int(rng.integers(999)))
    n = len(drawn.pieces)
    piece = one_of(
        rng, (1, 2) if what == "hole" else (0, 1, 1, 2, 2, n - 2, n - 2, n - 2, n - 2, n - 1)
    )
    at = min(max(1, drawn.at(piece, rng.uniform(0, 0.95))), len(drawn.exact) - 1)
    if what == "press":
        return drawn.pressed(at)
    if what == "hole":
        long_s = rng.uniform(0.3, 1.3)
        return drawn.moved(max(0, at - round(long_s * kind.rate_hz)), at, 0.4 / kind.step_mm)
    return drawn.stood(at, len(drawn.exact), 0.0) if what == "hang" else drawn


def test_the_rule_jump_by_jump():
    seen = Counter()
    for seed in range(240):
        axis = some_job(np.random.default_rng([seed, 4])).axis()
        if seed % 3 == 0:
            axis = in_finer_counts(axis)
        holds, band = find_holds(axis, LIMITS)
        standing = [i for i in zero_candidates(axis, axis.count, band) if stood(axis, i)]
        told, why = press_by_the_rule(axis, holds, standing)
        found = find_press_beside(axis, axis.count, holds, band)
        assert (found and found.index) == told, seed
        if found is not None:
            assert found.size == axis.count[told] - axis.count[told - 1]
            assert found.kind == "zero_pressed"
        seen[why] += 1
    assert len(seen) == 10
    assert min(seen.values()) >= 4  # each comes about

"""Orders of tightening against published cross patterns, and what must hold for any of them."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.errors import OutOfRangeError
from rockhold.measure.torque.patterns import OutOfTurn, check_order, crosswise, is_crosswise


@pytest.mark.parametrize(
    ("count", "order"),
    [
        # ASME PCC-1, cross pattern, from memory.
        (4, "1-3-2-4"),
        (8, "1-5-3-7-2-6-4-8"),
        (12, "1-7-4-10-2-8-5-11-3-9-6-12"),
        (16, "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16"),
        # Common practice, no source.
        (5, "1-3-5-2-4"),
        (6, "1-4-2-5-3-6"),
        (10, "1-6-2-7-3-8-4-9-5-10"),
    ],
)
def test_known_orders(count, order):
    assert "-".join(map(str, crosswise(count))) == order


@given(st.integers(1, 64))
def test_every_screw_once_and_pairs_stand_opposite(count):
    order = crosswise(count)
    assert sorted(order) == list(range(1, count + 1))
    if count % 2 == 0:
        pairs = zip(order[::2], order[1::2], strict=True)
        assert all(second - first == count // 2 for first, second in pairs)


@given(st.integers(5, 64))
def test_the_next_screw_is_never_a_neighbour(count):
    order = crosswise(count)
    steps = [abs(b - a) for a, b in pairwise(order)]
    assert min(min(step, count - step) for step in steps) > 1


@given(st.integers(1, 20), st.integers(1, 3))
def test_following_the_order_is_never_wrong(count, rounds):
    order = crosswise(count)
    done = []
    while (found := check_order(order, done, rounds)).due is not None:
        assert not found.out_of_turn
        done.append(found.due)
    assert done == list(order) * rounds


def test_a_screw_out_of_turn_is_named_and_the_order_goes_on():
    order = crosswise(8)
    found = check_order(order, [1, 2, 5])
    assert found.out_of_turn == (OutOfTurn(2, 2, 5),)
    assert found.due == 3
    assert check_order(order, [1, 1]).out_of_turn == (OutOfTurn(2, 1, 5),)
    around = check_order(order, list(range(1, 9)))
    assert [step.place for step in around.out_of_turn] == [2, 3, 4, 6]
    assert around.due is None


def test_what_does_not_exist_is_refused():
    with pytest.raises(OutOfRangeError, match="1 to 64 screws, not 0"):
        crosswise(0)
    with pytest.raises(OutOfRangeError, match="no screw 9; they are 1 to 8"):
        check_order(crosswise(8), [9])


def test_an_order_around_the_circle_is_not_crosswise():
    for count in range(1, 33):
        assert is_crosswise(crosswise(count))
    # ASME PCC-1 cross pattern (from memory) and common practice; then one after the other.
    assert is_crosswise((1, 5, 3, 7, 2, 6, 4, 8))
    assert is_crosswise((1, 4, 2, 5, 3, 6))
    assert not is_crosswise((1, 2, 3, 4, 5, 6))
    assert not is_crosswise((1, 2, 3, 4, 5))

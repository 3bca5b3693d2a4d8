"""In which order the screws of a circle are tightened: crosswise, so that the gasket lies evenly.

Screws are numbered clockwise from any of them. An even number goes in opposite pairs, and the
pairs themselves are spread in the same way; an odd number goes by the largest step that reaches
every screw.

Source: ASME PCC-1, cross pattern, and common practice for 5, 6 and 10; both from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rockhold.errors import OutOfRangeError

MOST = 64


def crosswise(count: int) -> tuple[int, ...]:
    """Return the numbers of the screws in the order in which they are tightened.

    Args:
        count: How many screws, 1 to 64.

    Raises:
        OutOfRangeError: When the number is outside that range.
    """
    if not 1 <= count <= MOST:
        raise OutOfRangeError(f"a circle has 1 to {MOST} screws, not {count}")
    if count % 2:
        step = max(1, (count - 1) // 2)  # shares no divisor with an odd count
        return tuple(index * step % count + 1 for index in range(count))
    half = count // 2
    firsts = crosswise(half) if half % 2 == 0 else tuple(range(1, half + 1))
    return tuple(number for first in firsts for number in (first, first + half))


def is_crosswise(order: Sequence[int]) -> bool:
    """Return whether an order spares the gasket.

    With an even number of screws they go in opposite pairs; with an odd one no screw follows its
    neighbour. Up to three screws any order will do.
    """
    count = len(order)
    if count <= 3:
        return True
    if count % 2 == 0:
        return all(abs(a - b) == count // 2 for a, b in zip(order[::2], order[1::2], strict=True))
    return all((a - b) % count not in (1, count - 1) for a, b in pairwise(order))


@dataclass(frozen=True, slots=True)
class OutOfTurn:
    """A screw that was tightened when another was due.

    Attributes:
        place: Which tightening it was, from 1.
        screw: The screw that was tightened.
        due: The screw that was due; None when all had been tightened.
    """

    place: int
    screw: int
    due: int | None


@dataclass(frozen=True, slots=True)
class OrderFound:
    """How far a round of tightening is.

    Attributes:
        due: The screw that is due; None when the last round is complete.
        round: Which round that screw belongs to, from 1; of the last one when it is complete.
        out_of_turn: What was done out of turn, in order.
    """

    due: int | None
    round: int
    out_of_turn: tuple[OutOfTurn, ...]


def check_order(order: Sequence[int], done: Sequence[int], rounds: int = 1) -> OrderFound:
    """Return which screw is due, and which were tightened out of turn.

    After a mistake the order goes on with the first screw of it that was not tightened yet.

    Args:
        order: The order asked for, for example `crosswise(6)`.
        done: Screws in the order in which they were tightened.
        rounds: How often the circle is gone around, for example 2 for half and full torque.

    Raises:
        OutOfRangeError: When a screw is not one of the order's.
    """
    wrong: list[OutOfTurn] = []
    left, current = list(order), 1
    for place, screw in enumerate(done, start=1):
        if screw not in order:
            raise OutOfRangeError(f"there is no screw {screw}; they are 1 to {len(order)}")
        if not left and current < rounds:
            left, current = list(order), current + 1
        due = left[0] if left else None
        if screw != due:
            wrong.append(OutOfTurn(place, screw, due))
        if screw in left:
            left.remove(screw)
    if not left and current < rounds:
        left, current = list(order), current + 1
    return OrderFound(left[0] if left else None, current, tuple(wrong))

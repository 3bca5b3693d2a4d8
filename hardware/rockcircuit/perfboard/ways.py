"""How a wire's line runs in the picture, so that it passes over no leg but its own two.

Straight where that is free; else in a bow beside the straight line; else between the rows and
columns of holes. Of several the first counts that runs on no other line for most of a
step.
"""

from collections.abc import Iterator
from itertools import pairwise, product
from math import hypot

Point = tuple[float, float]
Way = tuple[Point, ...]

_CLEAR = 0.38  # of a step: between a line and a leg that is not its own
_APART = 0.15  # of a step: between lines that run side by side
_BOWS = (0.4, 0.6, 0.8, 1.0, 1.3, 1.6)  # how far, in steps, the turning point lies beside


def way(start: Point, end: Point, legs: list[Point], taken: list[Way], step: float) -> Way:
    """Return the points of a wire's line.

    Args:
        start: Where it begins.
        end: Where it ends.
        legs: All other legs.
        taken: Lines that are drawn already.
        step: From hole to hole.
    """
    if hypot(end[0] - start[0], end[1] - start[1]) < 1.5 * step:
        return start, end
    near = [leg for leg in legs if _between(start, leg, end, 2 * step)]
    best: Way = (start, end)
    least = float("inf")
    for one in _candidates(start, end, step):
        if clear_of(one, near) <= _CLEAR * step:
            continue
        shared = sum(_along(one, other, step) for other in taken)
        if shared <= 0.8 * step:
            return one
        if shared < least:
            best, least = one, shared
    return best


def clear_of(line: Way, legs: list[Point]) -> float:
    """Return how near a line comes to the nearest of some legs."""
    return min(
        (_distance(leg, a, b) for a, b in pairwise(line) for leg in legs), default=float("inf")
    )


def _between(start: Point, leg: Point, end: Point, margin: float) -> bool:
    return all(
        min(a, b) - margin <= at <= max(a, b) + margin
        for a, at, b in zip(start, leg, end, strict=True)
    )


def _candidates(start: Point, end: Point, step: float) -> Iterator[Way]:
    yield start, end
    length = hypot(end[0] - start[0], end[1] - start[1])
    across = ((start[1] - end[1]) / length * step, (end[0] - start[0]) / length * step)
    for size, side in product(_BOWS, (1, -1)):
        turn = (
            (start[0] + end[0]) / 2 + side * size * across[0],
            (start[1] + end[1]) / 2 + side * size * across[1],
        )
        yield tuple(_on_bow(start, turn, end, share / 12) for share in range(13))
    half = step / 2
    for away, beside, near in product((1, 3), (half, -half), (half, -half)):
        # Along a channel beside the start's row, then along one beside the end's column …
        x, y = end[0] + near, start[1] + beside * away
        out = half if x > start[0] else -half
        yield start, (start[0] + out, y), (x, y), (x, end[1] + (half if y > end[1] else -half)), end
        # … or beside the start's column first.
        x, y = start[0] + beside * away, end[1] + near
        out = half if y > start[1] else -half
        yield start, (x, start[1] + out), (x, y), (end[0] + (half if x > end[0] else -half), y), end


def _on_bow(start: Point, turn: Point, end: Point, share: float) -> Point:
    rest = 1 - share
    return (
        rest**2 * start[0] + 2 * share * rest * turn[0] + share**2 * end[0],
        rest**2 * start[1] + 2 * share * rest * turn[1] + share**2 * end[1],
    )


def _along(one: Way, other: Way, step: float) -> float:
    """Return for how far one line runs on another."""
    if not _meet(one, other, step):
        return 0.0
    every = step / 6
    on_it = 0
    for a, b in pairwise(one):
        parts = max(1, round(hypot(b[0] - a[0], b[1] - a[1]) / every))
        for part in range(parts):
            point = (a[0] + (b[0] - a[0]) * part / parts, a[1] + (b[1] - a[1]) * part / parts)
            on_it += any(_distance(point, c, d) < _APART * step for c, d in pairwise(other))
    return on_it * every


def _meet(one: Way, other: Way, margin: float) -> bool:
    """Return whether two lines come near each other at all."""
    return all(
        min(a) - margin <= max(b) and min(b) - margin <= max(a)
        for a, b in zip(zip(*one, strict=True), zip(*other, strict=True), strict=True)
    )


def _distance(point: Point, a: Point, b: Point) -> float:
    """Return how far a point is from a stretch."""
    length2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    along = (point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])
    share = min(1.0, max(0.0, along / length2)) if length2 else 0.0
    return hypot(point[0] - a[0] - share * (b[0] - a[0]), point[1] - a[1] - share * (b[1] - a[1]))

"""Where a drawn wire runs, and whether it touches what it should not."""

from collections.abc import Iterator

Point = tuple[float, float]
Stretch = tuple[Point, Point]
_TOUCH = 0.05


def stretches(start: Point, end: Point, shape: str) -> tuple[Stretch, ...]:
    """Return the straight pieces of a wire: "-" straight, "-|" and "|-" with one corner.

    Raises:
        ValueError: If a piece would be slanted.
    """
    if shape == "-":
        if min(abs(start[0] - end[0]), abs(start[1] - end[1])) > _TOUCH:
            raise ValueError(f"a wire from {start} to {end} would be slanted")
        return ((start, end),)
    corner = (end[0], start[1]) if shape == "-|" else (start[0], end[1])
    return ((start, corner), (corner, end))


def touches(stretch: Stretch, point: Point) -> bool:
    """Say whether a point lies on a piece of wire."""
    (x1, y1), (x2, y2) = stretch
    x, y = point
    return (
        min(x1, x2) - _TOUCH <= x <= max(x1, x2) + _TOUCH
        and min(y1, y2) - _TOUCH <= y <= max(y1, y2) + _TOUCH
    )


def overlap(one: Stretch, other: Stretch) -> bool:
    """Say whether two pieces run along each other; a plain crossing is none."""
    (ax, ay), (bx, by) = one
    upright = abs(ax - bx) < _TOUCH
    (cx, cy), (dx, dy) = other
    if upright != (abs(cx - dx) < _TOUCH):
        return False
    if upright:
        return abs(ax - cx) < _TOUCH and _shared((ay, by), (cy, dy)) > _TOUCH
    return abs(ay - cy) < _TOUCH and _shared((ax, bx), (cx, dx)) > _TOUCH


def _shared(one: Point, other: Point) -> float:
    return min(max(one), max(other)) - max(min(one), min(other))


def faults(wires: list[tuple[str, Stretch]], pins: list[tuple[str, str, Point]]) -> Iterator[str]:
    """Yield what looks connected and is not.

    Args:
        wires: Net and piece.
        pins: Name, net and place.
    """
    for net, stretch in wires:
        for name, other, at in pins:
            if other != net and touches(stretch, at):
                yield f"the wire of {net} runs over {name}"
    for index, (net, stretch) in enumerate(wires):
        for other, piece in wires[index + 1 :]:
            if other != net and overlap(stretch, piece):
                yield f"the wires of {net} and {other} run over each other"
    for index, (name, net, at) in enumerate(pins):
        for twin, other, place in pins[index + 1 :]:
            if other != net and touches((at, at), place):
                yield f"{name} and {twin} touch"

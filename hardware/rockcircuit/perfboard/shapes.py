"""How much room a part takes on the grid of 2.54 mm, and where its legs are."""

from dataclasses import dataclass

from rockcircuit.model import Part

Hole = tuple[int, int]  # column from the left, row from the top, both from 0

COLUMNS, ROWS = 27, 19
_SPANS = {"resistor": 3, "zener": 3, "diode": 3, "schottky": 3, "capacitor": 2}


@dataclass(frozen=True, slots=True)
class Shape:
    """A part's outline, before it is turned.

    Attributes:
        legs: Pin name → offset from the first hole.
        body: Holes under the body, legs included.
        low: Whether it may lie under the processor board, which stands on sockets.
    """

    legs: dict[str, Hole]
    body: frozenset[Hole]
    low: bool

    def turned(self, quarter: int) -> "Shape":
        """Return it turned by so many quarters, clockwise."""

        def turn(hole: Hole) -> Hole:
            column, row = hole
            for _ in range(quarter):
                column, row = -row, column
            return column, row

        legs = {pin: turn(hole) for pin, hole in self.legs.items()}
        return Shape(legs, frozenset(turn(hole) for hole in self.body), self.low)


def shape_of(part: Part) -> Shape:
    """Return a part's outline.

    Raises:
        KeyError: For parts that do not sit on the board.
    """
    symbol = part.kind.symbol
    pins = [pin.name for pin in part.kind.pins]
    if symbol in ("socket", "jumper"):
        return _row(pins, low=False)
    if symbol == "npn":
        # The flat face looks down the picture, so C is on the left; the round side needs a row.
        legs = {pin: (index, 0) for index, pin in enumerate(pins)}
        return Shape(legs, _area(0, 3, -1, 1), low=False)
    if symbol == "beeper":
        return Shape({"+": (-1, 0), "-": (2, 0)}, _area(-2, 3, -2, 3), low=False)
    if symbol == "processor":
        return _processor(part)
    span = 4 if part.kind.name == "1N5817" else _SPANS[symbol]
    legs = {pins[0]: (0, 0), pins[1]: (span, 0)}
    return Shape(legs, _area(0, span + 1, 0, 1), low=symbol != "capacitor")


def _row(pins: list[str], low: bool) -> Shape:
    legs = {pin: (index, 0) for index, pin in enumerate(pins)}
    return Shape(legs, frozenset(legs.values()), low)


def _processor(part: Part) -> Shape:
    """Return the Pico with USB to the right: pin 1 is the first hole, 20 to its left, 40 below."""
    pins = [pin.name for pin in part.kind.pins]
    legs = {pin: (-index, 0) for index, pin in enumerate(pins[:20])}
    legs |= {pin: (index - 19, 7) for index, pin in enumerate(pins[20:])}
    return Shape(legs, _area(-19, 1, 0, 8), low=False)


def _area(left: int, right: int, top: int, bottom: int) -> frozenset[Hole]:
    return frozenset((x, y) for x in range(left, right) for y in range(top, bottom))

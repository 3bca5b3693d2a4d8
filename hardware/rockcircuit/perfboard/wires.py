"""Which holes are joined underneath, net by net, and the leads to what is not on the board."""

from dataclasses import dataclass

from rockcircuit.model import Circuit
from rockcircuit.perfboard.place import Placed
from rockcircuit.perfboard.shapes import Hole


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire between two holes.

    Attributes:
        net: Which.
        start: Hole.
        end: Hole.
    """

    net: str
    start: Hole
    end: Hole


def name_of(hole: Hole) -> str:
    """Return a hole's name: row A to S from the top, column 1 to 27 from the left.

    >>> name_of((0, 2))
    'C1'
    """
    column, row = hole
    return f"{chr(ord('A') + row)}{column + 1}"


def holes_of(placed: list[Placed]) -> dict[str, list[tuple[str, Hole]]]:
    """Return net → (end, hole) of all legs on the board."""
    out: dict[str, list[tuple[str, Hole]]] = {}
    for one in placed:
        for pin, hole in one.legs.items():
            if pin in one.part.wires:
                out.setdefault(one.part.wires[pin], []).append((f"{one.part.ref}.{pin}", hole))
    return out


def join(placed: list[Placed]) -> list[Wire]:
    """Return the wires of all nets."""
    return [
        wire
        for net, ends in holes_of(placed).items()
        for wire in _tree(net, [hole for _, hole in ends])
    ]


def _tree(net: str, holes: list[Hole]) -> list[Wire]:
    joined, apart = holes[:1], holes[1:]
    wires = []
    while apart:
        start, end = min(
            ((a, b) for a in joined for b in apart),
            key=lambda pair: (_far(*pair), pair),
        )
        wires.append(Wire(net, start, end))
        joined.append(end)
        apart.remove(end)
    return wires


def _far(one: Hole, other: Hole) -> int:
    return abs(one[0] - other[0]) + abs(one[1] - other[1])


def leads(circuit: Circuit, placed: list[Placed]) -> list[tuple[str, str, str, Hole | None]]:
    """Return (end, net, leg on the board, its hole) for what is not on the board.

    The hole is None where the net has no leg on the board: the lead goes to another part outside.
    """
    here = {one.part.ref for one in placed}
    holes = holes_of(placed)
    out: list[tuple[str, str, str, Hole | None]] = []
    for part in circuit.parts:
        if part.ref in here:
            continue
        for pin, net in part.wires.items():
            end = f"{part.ref}.{pin}"
            if net in holes:
                leg, hole = holes[net][0]
                out.append((end, net, leg, hole))
            else:
                others = [str(one) for one in circuit.ends(net) if one.part.ref != part.ref]
                out.append((end, net, ", ".join(others), None))
    return out

"""Put the parts down one after the other, each where its wires become shortest.

The processor, the beeper (under its holes in the lid) and the sockets (at their cables) have their
places; the rest follows from the netlist. Options and what sits in the lid or beside the cell are
not on this board.
"""

from dataclasses import dataclass

from rockcircuit.errors import LayoutError
from rockcircuit.model import GND, V33, Circuit, Part
from rockcircuit.parts_list import option_of
from rockcircuit.perfboard.shapes import COLUMNS, ROWS, Hole, Shape, shape_of

_FIXED = {
    "U1": ((26, 6), 0),
    "LS1": ((22, 2), 0),
    "J1": ((0, 11), 1),
    "J2": ((0, 4), 1),
    # beside the processor's 3.3 V, pin 36
    "C3": ((22, 14), 0),
    "C4": ((22, 15), 0),
}
_BESIDE = ("led", "button", "switch", "cell", "fuse", "module")
_CORNERS = frozenset((x, y) for x in (0, COLUMNS - 1) for y in (0, ROWS - 1))
# A wire of these nets is never far, for they run everywhere.
_EVERYWHERE = {GND: 0.15, V33: 0.3}


@dataclass(frozen=True, slots=True)
class Placed:
    """A part in its place.

    Attributes:
        part: The part.
        legs: Pin → hole.
        body: Holes under it.
    """

    part: Part
    legs: dict[str, Hole]
    body: frozenset[Hole]


def on_board(circuit: Circuit) -> list[Part]:
    """Return the parts that sit on the perfboard, those with a place of their own first."""
    parts = [
        part for part in circuit.parts if part.kind.symbol not in _BESIDE and not option_of(part)
    ]
    return sorted(parts, key=lambda part: part.ref not in _FIXED)


def place(circuit: Circuit) -> list[Placed]:
    """Return every part in its place.

    Raises:
        LayoutError: If one finds no room.
    """
    taken: dict[Hole, str] = dict.fromkeys(_CORNERS, "screw")
    under: frozenset[Hole] = frozenset()
    nets: dict[str, list[Hole]] = {}
    out: list[Placed] = []
    waiting = on_board(circuit)
    while waiting:
        part = min(waiting, key=lambda p: _rank(p, nets)) if len(out) >= len(_FIXED) else waiting[0]
        waiting.remove(part)
        one = _fixed(part) if part.ref in _FIXED else _best(part, nets, taken, under)
        if one is None or any(hole in taken for hole in one.legs.values()):
            raise LayoutError(f"{part.ref} finds no room on {COLUMNS} x {ROWS} holes")
        out.append(one)
        if part.kind.symbol == "processor":
            rows = {row for _, row in one.legs.values()}
            under = frozenset(hole for hole in one.body if hole[1] not in rows)
            taken |= dict.fromkeys(one.body - under, part.ref)
        else:
            taken |= dict.fromkeys(one.body, part.ref)
        for pin, hole in one.legs.items():
            if pin in part.wires:
                nets.setdefault(part.wires[pin], []).append(hole)
    return out


def _rank(part: Part, nets: dict[str, list[Hole]]) -> tuple[int, int, str]:
    """Prefer the part with the most nets that are there already; transistors before others."""
    known = sum(net in nets and net not in _EVERYWHERE for net in part.wires.values())
    return (-known, part.kind.symbol != "npn", part.ref)


def _fixed(part: Part) -> Placed:
    at, quarter = _FIXED[part.ref]
    return _down(part, shape_of(part).turned(quarter), at)


def _down(part: Part, shape: Shape, at: Hole) -> Placed:
    def moved(hole: Hole) -> Hole:
        return hole[0] + at[0], hole[1] + at[1]

    legs = {pin: moved(hole) for pin, hole in shape.legs.items()}
    return Placed(part, legs, frozenset(moved(hole) for hole in shape.body))


def _best(
    part: Part, nets: dict[str, list[Hole]], taken: dict[Hole, str], under: frozenset[Hole]
) -> Placed | None:
    best, least = None, float("inf")
    for quarter in range(4):
        shape = shape_of(part).turned(quarter)
        for at in ((x, y) for y in range(ROWS) for x in range(COLUMNS)):
            one = _down(part, shape, at)
            if not _free(one, shape, taken, under):
                continue
            cost = _cost(one, nets)
            if cost < least - 1e-9:
                best, least = one, cost
    return best


def _free(one: Placed, shape: Shape, taken: dict[Hole, str], under: frozenset[Hole]) -> bool:
    for column, row in one.body:
        inside = 0 <= column < COLUMNS and 0 <= row < ROWS
        if not inside or (column, row) in taken:
            return False
        if (column, row) in under and not shape.low:
            return False
    return True


def _cost(one: Placed, nets: dict[str, list[Hole]]) -> float:
    total = 0.0
    for pin, (column, row) in one.legs.items():
        net = one.part.wires.get(pin, "")
        others = nets.get(net, [])
        if others:
            near = min(abs(column - x) + abs(row - y) for x, y in others)
            total += near * _EVERYWHERE.get(net, 1.0)
    return total

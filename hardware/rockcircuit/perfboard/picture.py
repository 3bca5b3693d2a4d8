"""The perfboard as SVG: the parts from above, the wires from below."""

from html import escape

from rockcircuit.model import GND, V33
from rockcircuit.perfboard import ways
from rockcircuit.perfboard.place import Placed
from rockcircuit.perfboard.shapes import COLUMNS, ROWS, Hole
from rockcircuit.perfboard.wires import Wire, name_of

_STEP = 30
_EDGE = 40
_WIDE = 2 * _EDGE + (COLUMNS - 1) * _STEP
_TALL = 2 * _EDGE + (ROWS - 1) * _STEP
_FILLS = {
    "resistor": "#dbeafe",
    "capacitor": "#fef3c7",
    "npn": "#d1d5db",
    "beeper": "#e5e7eb",
    "socket": "#dcfce7",
    "jumper": "#fae8ff",
}
_PAPER = "#fffbeb"
_MARKED = ("K", "C", "+", "GND", "1")
_COLOURS = ("#2563eb", "#059669", "#d97706", "#7c3aed", "#0891b2", "#be185d", "#65a30d")


def parts_from_above(placed: list[Placed]) -> bytes:
    """Return the side where the parts are."""
    rows = _head(mirrored=False)
    for one in placed:
        rows += _part(one)
    return _page(rows)


def wires_from_below(placed: list[Placed], wires: list[Wire]) -> bytes:
    """Return the side where it is soldered, turned over from left to right.

    A wire ends in dots of its colour; where two cross, the upper one has a light rim. One that
    would run over another leg goes round it.
    """
    rows = _head(mirrored=True)
    legs = {hole: one.part.wires.get(pin, "") for one in placed for pin, hole in one.legs.items()}
    nets = list(dict.fromkeys(wire.net for wire in wires))
    for wire, way in zip(wires, _ways(wires, list(legs)), strict=True):
        path = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in way)
        for colour, wide in ((_PAPER, 10), (_colour(wire, nets), 4)):
            rows.append(
                f'<path d="{path}" fill="none" stroke-linejoin="round" stroke="{colour}" '
                f'stroke-width="{wide}"><title>{escape(wire.net)}</title></path>'
            )
    rows += [_dot(hole, "#9ca3af") for hole in legs]
    for wire in wires:
        rows += [_dot(hole, _colour(wire, nets)) for hole in (wire.start, wire.end)]
    for one in placed:
        x, y = _at(next(iter(one.legs.values())), True)
        rows.append(_text(x, y - 9, one.part.ref, 11))
    return _page(rows)


def _ways(wires: list[Wire], holes: list[Hole]) -> list[ways.Way]:
    legs: list[ways.Point] = [_at(hole, True) for hole in holes]
    taken: list[ways.Way] = []
    for wire in wires:
        start, end = _at(wire.start, True), _at(wire.end, True)
        others = [leg for leg in legs if leg not in (start, end)]
        taken.append(ways.way(start, end, others, taken, _STEP))
    return taken


def _colour(wire: Wire, nets: list[str]) -> str:
    fixed = {GND: "black", V33: "#dc2626"}.get(wire.net)
    return fixed or _COLOURS[nets.index(wire.net) % len(_COLOURS)]


def _dot(hole: Hole, colour: str) -> str:
    x, y = _at(hole, True)
    return f'<circle cx="{x}" cy="{y}" r="7" fill="{colour}" stroke="{_PAPER}" stroke-width="2"/>'


def _part(one: Placed) -> list[str]:
    columns = [column for column, _ in one.body]
    lines = [row for _, row in one.body]
    left, top = _at((min(columns), min(lines)), False)
    right, bottom = _at((max(columns), max(lines)), False)
    symbol = one.part.kind.symbol
    fill = _FILLS.get(symbol, "#fee2e2")
    look = 'fill="none" stroke-dasharray="6 4"' if symbol == "processor" else f'fill="{fill}"'
    rows = [
        f'<rect x="{left - 12}" y="{top - 12}" width="{right - left + 24}" '
        f'height="{bottom - top + 24}" rx="6" stroke="#374151" {look}/>'
    ]
    if symbol == "npn":
        rows.append(_flat_face(one, (left, top, right, bottom)))
    for pin, hole in one.legs.items():
        x, y = _at(hole, False)
        marked = pin in _MARKED and symbol not in ("resistor", "capacitor", "processor")
        marked |= symbol == "processor" and pin == "GP0"
        rows.append(f'<circle cx="{x}" cy="{y}" r="5" fill="{"#111827" if marked else "white"}"')
        rows[-1] += ' stroke="#374151"/>'
        if marked:
            name = "1" if symbol == "processor" else pin
            rows.append(_text(x, y + 20 if right == left else y - 8, name, 9))
    rows.append(_text((left + right) / 2, (top + bottom) / 2 + 4, _label(one), 11))
    return rows


def _flat_face(one: Placed, box: tuple[int, int, int, int]) -> str:
    """Return a thick line along the side of a transistor's legs."""
    left, top, right, bottom = box
    (x, y), (end_x, _), *_ = (_at(hole, False) for hole in one.legs.values())
    if end_x != x:
        line_y = top - 12 if y == top else bottom + 12
        line = (left - 8, line_y, right + 8, line_y)
    else:
        line_x = left - 12 if x == left else right + 12
        line = (line_x, top - 8, line_x, bottom + 8)
    x1, y1, x2, y2 = line
    return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" stroke="#111827" stroke-width="5"/>'


def _label(one: Placed) -> str:
    if one.part.kind.symbol == "processor":
        return "U1, USB right"
    return one.part.ref


def _head(mirrored: bool) -> list[str]:
    rows = [f'<rect width="{_WIDE}" height="{_TALL}" fill="{_PAPER}"/>']
    for column in range(COLUMNS):
        x, _ = _at((column, 0), mirrored)
        rows.append(_text(x, 16, str(column + 1), 11))
    for row in range(ROWS):
        _, y = _at((0, row), mirrored)
        rows.append(_text(14, y + 4, name_of((0, row))[0], 11))
        for column in range(COLUMNS):
            x, _ = _at((column, row), mirrored)
            rows.append(f'<circle cx="{x}" cy="{y}" r="2" fill="#d6d3d1"/>')
    return rows


def _at(hole: Hole, mirrored: bool) -> tuple[int, int]:
    column, row = hole
    column = COLUMNS - 1 - column if mirrored else column
    return _EDGE + column * _STEP, _EDGE + row * _STEP


def _text(x: float, y: float, text: str, size: int) -> str:
    """Return a text with a white rim, so that it can be read on lines and holes."""
    look = f'x="{x:g}" y="{y:g}" font-size="{size}" text-anchor="middle" font-family="sans-serif"'
    words = escape(text)
    rim = f'<text {look} fill="white" stroke="white" stroke-width="3">{words}</text>'
    return f"{rim}<text {look}>{words}</text>"


def _page(rows: list[str]) -> bytes:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_TALL}">'
    return "\n".join([head, *rows, "</svg>", ""]).encode()

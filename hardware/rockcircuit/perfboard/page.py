"""The perfboard in words: which leg goes into which hole, and what is joined."""

from itertools import groupby

from rockcircuit.model import Circuit
from rockcircuit.perfboard.place import Placed
from rockcircuit.perfboard.wires import Wire, leads, name_of
from rockcircuit.values import printed

_HEAD = """# The perfboard

Made by `make hardware` from the circuit, for Pico W and Pico 2 W without options: 27 by 19 holes,
a piece of 7 by 5 cm. Rows are A to S from the top, columns 1 to 27 from the left, seen from above,
USB socket to the right. Modules of options, charger, cell, fuse, and what sits in the lid are on
leads.

![Parts, from above](pictures/perfboard_parts.svg)

Parts in the dashed outline lie under the processor board, which stands on sockets: solder them
first. A dark leg is K of a diode, C of a transistor, plus, or the first pin. The thick edge is a
transistor's flat face. Keep the four corner holes free: the board's screws come there.

![Wires, from below](pictures/perfboard_wires.svg)

The same board turned over: black is ground, red is 3.3 V. Wires are joined only where they share a
dot of their colour. Lines that cross, one with a light rim, are **not** joined; a line with
bends goes round legs that are not its own. Use insulated wire, and tick each row of
the table below.
"""


def page(circuit: Circuit, placed: list[Placed], wires: list[Wire]) -> str:
    """Return the page."""
    parts = [_HEAD, "## Parts", "", "| part | what | legs |", "|---|---|---|"]
    for one in sorted(placed, key=lambda p: (p.part.kind.symbol, len(p.part.ref), p.part.ref)):
        if one.part.ref == "U1":
            what = "two rows of sockets"
            legs = f"pin 1 in {name_of(one.legs['GP0'])}, pin 40 in {name_of(one.legs['VBUS'])}"
        else:
            what = f"{one.part.kind.name} {printed(one.part.value)}".strip()
            legs = ", ".join(f"{pin} {name_of(hole)}" for pin, hole in one.legs.items())
        parts.append(f"| {one.part.ref} | {what} | {legs} |")
    parts += ["", "## Wires underneath", "", "| net | holes |", "|---|---|"]
    for net, group in groupby(wires, key=lambda wire: wire.net):
        pairs = ", ".join(f"{name_of(wire.start)}–{name_of(wire.end)}" for wire in group)
        parts.append(f"| {net} | {pairs} |")
    parts += ["", "## Leads", "", "| from | net | to |", "|---|---|---|"]
    for end, net, leg, hole in leads(circuit, placed):
        parts.append(f"| {end} | {net} | {f'{name_of(hole)} ({leg})' if hole else leg} |")
    return "\n".join(parts) + "\n"

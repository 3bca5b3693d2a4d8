"""Cell, fuse, charger, switch, and the divider that lets the board see its cell's voltage.

The cell's minus goes to the charger's B- only, never to ground: the protection switches it. The
Schottky diode keeps USB's 5 V away from cell and charger. The divider sits behind the switch, so it
takes nothing while the board is off and never feeds an input of a processor without supply.
"""

from rockcircuit import kinds, modules
from rockcircuit.model import GND, V33, Part

BLOCK = "power"


def parts(supply: str, usb: str | None) -> list[Part]:
    """Return the parts of this block.

    Args:
        supply: Net of the processor board's supply input.
        usb: Net of its USB socket's 5 V; None where the charger's own socket serves instead.
    """
    charger = {"IN-": GND, "B+": "FUSED", "B-": "CELL_MINUS", "OUT+": "CHARGER_OUT", "OUT-": GND}
    charger |= {"IN+": usb} if usb else {}
    return [
        Part("BT1", kinds.CELL, "", BLOCK, {"+": "CELL_PLUS", "-": "CELL_MINUS"}, role="cell"),
        Part("F1", kinds.FUSE, "", BLOCK, {"1": "CELL_PLUS", "2": "FUSED"}, role="beside the cell"),
        Part(
            "U5",
            modules.CHARGER,
            "",
            BLOCK,
            charger,
            unused=frozenset() if usb else frozenset(("IN+",)),
            role="charges, and switches off an empty or shorted cell",
        ),
        Part("S2", kinds.SWITCH, "", BLOCK, {"A": "CHARGER_OUT", "B": "SWITCHED"}, role="on/off"),
        Part(
            "D15",
            kinds.POWER_SCHOTTKY,
            "",
            BLOCK,
            {"A": "SWITCHED", "K": supply},
            role="keeps USB's 5 V away from the cell",
        ),
        *_divider(),
        *[
            Part(ref, kinds.CAPACITOR, value, BLOCK, {"1": V33, "2": GND}, role="steadies 3.3 V")
            for ref, value in (("C3", "100n"), ("C4", "10u"))
        ],
    ]


def _divider() -> list[Part]:
    def resistor(ref: str, one: str, other: str) -> Part:
        wires = {"1": one, "2": other}
        return Part(ref, kinds.RESISTOR, "100k", BLOCK, wires, role="halves the cell's voltage")

    return [
        resistor("R28", "SWITCHED", "BATTERY"),
        resistor("R29", "BATTERY", GND),
        Part(
            "C2",
            kinds.CAPACITOR,
            "100n",
            BLOCK,
            {"1": "BATTERY", "2": GND},
            role="holds still while it is measured",
        ),
    ]

"""The picture of cell, charger, switch and divider."""

from rockcircuit.blocks.power import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    sheet.box("U5", (4.5, -4.4), ["B+", "B-", "IN-"], ["OUT+", "OUT-", "IN+"], wide=6.0)
    _, y = sheet.at("U5.B-")
    sheet.legs("BT1", (0, y), "up")
    sheet.wire("BT1.-", "U5.B-")
    sheet.legs("F1", (0.8, y + 2.0))
    sheet.wire("BT1.+", "F1.1")
    sheet.wire("F1.2", "U5.B+", "-|")
    sheet.tag("U5.IN-")
    sheet.tag("U5.OUT-", "right")
    if "IN+" in circuit.part("U5").wires:
        sheet.tag("U5.IN+", "right")
    _out(sheet)
    _steady(sheet)
    return sheet.finish()


def _out(sheet: Sheet) -> None:
    x, y = sheet.at("U5.OUT+")
    sheet.legs("S2", (x + 0.8, y))
    sheet.wire("U5.OUT+", "S2.A")
    sheet.legs("R28", (x + 3.8, y), "down")
    sheet.wire("S2.B", "R28.1")
    sheet.dot("R28.1")
    sheet.legs("D15", (x + 5.0, y))
    sheet.wire("R28.1", "D15.A")
    sheet.tag("D15.K", "right")
    sheet.legs("R29", (x + 3.8, y - 2.4), "down")
    sheet.wire("R28.2", "R29.1")
    sheet.tag("R29.2")
    sheet.legs("C2", (x + 5.8, y - 2.4), "down")
    sheet.wire("R29.1", "C2.1")
    sheet.dot("R29.1", "C2.1")
    sheet.tag("C2.2")
    sheet.tag("C2.1", "right")


def _steady(sheet: Sheet) -> None:
    for ref, x in (("C3", 0.0), ("C4", 2.0)):
        sheet.legs(ref, (x, -8.0), "down")
        sheet.tag(f"{ref}.1", "up")
        sheet.tag(f"{ref}.2")

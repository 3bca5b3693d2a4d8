"""The picture of the gauge's lines."""

from rockcircuit.blocks.gauge import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    sheet.box("J1", (-7.5, -4.0), [], ["DATA", "CLOCK", "REQUEST", "GND"], wide=2.4)
    for end in ("DATA", "CLOCK", "REQUEST", "GND"):
        sheet.tag(f"J1.{end}")
    _channel(sheet, 0.0, ("R1", "D1", "R2", "R3", "Q1", "R4", "R5", "JP1"))
    _channel(sheet, -7.5, ("R6", "D2", "R7", "R8", "Q2", "R9", "R10", "JP2"))
    _request(sheet, -14.5)
    return sheet.finish()


def _channel(sheet: Sheet, y: float, refs: tuple[str, ...]) -> None:
    series, zener, into, hold, transistor, load, pull, jumper = refs
    sheet.legs(series, (3.0, y))
    sheet.tag(f"{series}.1", "left")
    sheet.legs(into, (6.0, y))
    sheet.wire(f"{series}.2", f"{into}.1")
    sheet.legs(zener, (5.5, y - 2.0), "up")
    sheet.wire(f"{zener}.K", f"{series}.2", "-|")
    sheet.tag(f"{zener}.A")
    sheet.legs(pull, (5.5, y + 2.0), "down")
    sheet.wire(f"{pull}.2", f"{zener}.K")
    sheet.dot(f"{zener}.K")
    sheet.legs(jumper, (5.5, y + 4.0), "down")
    sheet.wire(f"{jumper}.2", f"{pull}.1")
    sheet.tag(f"{jumper}.1", "up")
    sheet.legs(hold, (8.6, y), "down")
    sheet.wire(f"{into}.2", f"{hold}.1")
    sheet.dot(f"{hold}.1")
    sheet.tag(f"{hold}.2")
    sheet.transistor(transistor, (10.0, y))
    sheet.wire(f"{hold}.1", f"{transistor}.B")
    sheet.tag(f"{transistor}.E")
    x, top = sheet.at(f"{transistor}.C")
    sheet.legs(load, (x, top + 2.6), "down")
    sheet.wire(f"{load}.2", f"{transistor}.C")
    sheet.dot(f"{load}.2")
    sheet.tag(f"{load}.1", "up")
    sheet.tag(f"{load}.2", "right")


def _request(sheet: Sheet, y: float) -> None:
    sheet.legs("R11", (6.0, y))
    sheet.tag("R11.1", "left")
    sheet.legs("R12", (8.6, y), "down")
    sheet.wire("R11.2", "R12.1")
    sheet.dot("R12.1")
    sheet.tag("R12.2")
    sheet.transistor("Q3", (10.0, y))
    sheet.wire("R12.1", "Q3.B")
    sheet.tag("Q3.E")
    x, top = sheet.at("Q3.C")
    sheet.legs("R13", (x + 3.0, top + 0.8))
    sheet.wire("Q3.C", "R13.1", "|-")
    sheet.tag("R13.2", "right")
    sheet.legs("D3", (x + 2.6, top - 1.2), "up")
    sheet.wire("D3.K", "R13.1")
    sheet.dot("D3.K")
    sheet.tag("D3.A")

"""The picture of lamps, beeper and button."""

from rockcircuit.blocks.panel import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    _button(sheet)
    _lamp(sheet, "R24", "D12", -5.0)
    _lamp(sheet, "R25", "D13", -7.5)
    _beeper(sheet, -2.0)
    return sheet.finish()


def _button(sheet: Sheet) -> None:
    sheet.legs("S1", (0, -2.0), "up", turned=True)
    sheet.tag("S1.2")
    sheet.legs("R23", (1.0, 0))
    sheet.wire("S1.1", "R23.1")
    sheet.legs("C1", (4.0, 0), "down")
    sheet.wire("R23.2", "C1.1")
    sheet.dot("C1.1")
    sheet.tag("C1.2")
    sheet.tag("C1.1", "right")


def _lamp(sheet: Sheet, resistor: str, lamp: str, y: float) -> None:
    sheet.legs(resistor, (1.0, y))
    sheet.tag(f"{resistor}.1", "left")
    sheet.legs(lamp, (3.5, y))
    sheet.wire(f"{resistor}.2", f"{lamp}.A")
    sheet.tag(f"{lamp}.K")


def _beeper(sheet: Sheet, y: float) -> None:
    sheet.legs("R26", (12.0, y - 2.0))
    sheet.tag("R26.1", "left")
    sheet.legs("R27", (14.6, y - 2.0), "down")
    sheet.wire("R26.2", "R27.1")
    sheet.dot("R27.1")
    sheet.tag("R27.2")
    sheet.transistor("Q4", (16.0, y - 2.0))
    sheet.wire("R27.1", "Q4.B")
    sheet.tag("Q4.E")
    x, top = sheet.at("Q4.C")
    sheet.legs("LS1", (x, top + 2.6), "down")
    sheet.wire("LS1.-", "Q4.C")
    sheet.tag("LS1.+", "up")
    sheet.legs("D14", (x + 2.6, top + 0.6), "up")
    sheet.wire("LS1.-", "D14.A")
    sheet.wire("D14.K", "LS1.+", "-")
    sheet.dot("LS1.-", "LS1.+")

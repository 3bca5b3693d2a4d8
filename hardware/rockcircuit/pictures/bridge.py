"""The picture of the bridge converter."""

from rockcircuit.blocks.bridge import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    sheet.box("J4", (-4.0, -5.0), [], ["E+", "A+", "A-", "E-"], wide=2.0)
    for end in ("E+", "A+", "A-", "E-"):
        sheet.tag(f"J4.{end}")
    left = ["E+", "A+", "A-", "E-", "B+", "B-"]
    sheet.box("U3", (20.0, -6.0), left, ["VCC", "DT", "SCK", "GND"], wide=4.6)
    for end in ("VCC", "DT", "SCK", "GND"):
        sheet.tag(f"U3.{end}")
    for end in ("E+", "A+", "A-", "E-"):
        sheet.tag(f"U3.{end}", "left")
    sheet.legs("R18", (6.5, 1.0), turned=True)
    sheet.tag("R18.2", "left")
    sheet.legs("D7", (9.5, -1.0), "up")
    sheet.wire("R18.1", "D7.K")
    sheet.dot("D7.K")
    sheet.tag("D7.A")
    sheet.tag("D7.K", "right")
    _input(sheet, ("R19", "D8", "D9"), -5.0)
    _input(sheet, ("R20", "D10", "D11"), -11.5)
    return sheet.finish()


def _input(sheet: Sheet, refs: tuple[str, str, str], y: float) -> None:
    series, above, below = refs
    sheet.legs(series, (6.5, y))
    sheet.tag(f"{series}.1", "left")
    sheet.legs(above, (9.5, y), "up")
    sheet.legs(below, (9.5, y - 2.0), "up")
    sheet.wire(f"{series}.2", f"{above}.A")
    sheet.wire(f"{above}.A", f"{below}.K")
    sheet.dot(f"{above}.A")
    sheet.tag(f"{above}.K", "up")
    sheet.tag(f"{below}.A")
    sheet.tag(f"{above}.A", "right")

"""The picture of the text line."""

from rockcircuit.blocks.text_line import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    sheet.box("J2", (-3.0, -4.4), [], ["RX", "TX", "GND"], wide=2.0)
    for end in ("RX", "TX", "GND"):
        sheet.tag(f"J2.{end}")
    _receive(sheet)
    _send(sheet)
    sheet.box("U2", (4.5, -14.5), ["R1IN", "T1OUT", "GND"], ["R1OUT", "T1IN", "VCC"], wide=4.6)
    sheet.box("J3", (-3.0, -14.5), [], ["RX", "TX", "GND"], wide=2.0)
    sheet.wire("J3.RX", "U2.R1IN")
    sheet.wire("J3.TX", "U2.T1OUT")
    for end in ("J3.GND", "U2.GND"):
        sheet.tag(end)
    sheet.tag("U2.VCC")
    sheet.tag("U2.T1IN")
    sheet.tag("U2.R1OUT")
    return sheet.finish()


def _receive(sheet: Sheet) -> None:
    sheet.legs("R14", (7.0, 0.0))
    sheet.tag("R14.1", "left")
    sheet.legs("D4", (10.0, 0.0), "up")
    sheet.legs("D5", (10.0, -2.0), "up")
    sheet.wire("R14.2", "D4.A")
    sheet.wire("D4.A", "D5.K")
    sheet.dot("D4.A")
    sheet.tag("D4.K", "up")
    sheet.tag("D5.A")
    sheet.tag("D4.A", "right")
    sheet.box("JP3", (20.0, -3.0), ["1", "2", "3"], [], wide=2.2)
    sheet.tag("JP3.1", "left")
    sheet.tag("JP3.3", "left")
    left, middle = sheet.at("JP3.2")
    sheet.legs("R15", (left - 3.8, middle + 2.0), "down", turned=False)
    sheet.wire("JP3.2", "R15.2")
    sheet.dot("R15.2")
    sheet.tag("R15.1", "up")
    sheet.tag("R15.2", "left")


def _send(sheet: Sheet) -> None:
    sheet.legs("R17", (7.0, -6.0), turned=True)
    sheet.tag("R17.2", "left")
    sheet.legs("D6", (9.6, -8.0), "up")
    sheet.wire("R17.1", "D6.K")
    sheet.legs("R16", (10.2, -6.0), turned=True)
    sheet.wire("D6.K", "R16.2")
    sheet.dot("D6.K")
    sheet.tag("D6.A")
    sheet.tag("R16.1")

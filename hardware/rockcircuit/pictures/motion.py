"""The picture of the motion sensor."""

from rockcircuit.blocks.motion import BLOCK
from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG."""
    sheet = Sheet(circuit, BLOCK)
    sheet.box("U4", (0, 0), ["XDA", "XCL", "INT", "AD0"], ["VCC", "SDA", "SCL", "GND"], wide=4.4)
    for end in ("VCC", "GND"):
        sheet.tag(f"U4.{end}")
    sheet.tag("U4.AD0", "left")
    for ref, pin, x in (("R21", "SDA", 10.0), ("R22", "SCL", 14.0)):
        sheet.tag(f"U4.{pin}")
        sheet.legs(ref, (x, 4.0), "down")
        sheet.tag(f"{ref}.1", "up")
        sheet.tag(f"{ref}.2", "right")
    return sheet.finish()

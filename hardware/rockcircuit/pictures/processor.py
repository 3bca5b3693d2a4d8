"""The picture of the processor board: where each wire goes."""

from rockcircuit.model import Circuit
from rockcircuit.pictures.sheet import Sheet
from rockcircuit.processors import PROCESSORS


def draw(circuit: Circuit) -> bytes:
    """Return the picture as SVG; pins in the order of the board, seen from above, USB on top."""
    sheet = Sheet(circuit, "processor")
    pins = [pin.name for pin in circuit.part("U1").kind.pins]
    half = len(pins) // 2
    left, right = pins[:half], pins[half:]
    if PROCESSORS[circuit.board].round:
        right.reverse()
    sheet.box("U1", (0, 0), left, right, wide=5.0)
    wires = circuit.part("U1").wires
    for way, row in (("left", left), ("right", right)):
        for pin in row:
            if pin in wires:
                sheet.tag(f"U1.{pin}", way, ground_named=True)
    return sheet.finish()

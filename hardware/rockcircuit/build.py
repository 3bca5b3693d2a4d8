"""Put the circuit of a board together."""

from rockcircuit import processors
from rockcircuit.blocks import bridge, gauge, motion, panel, power, text_line
from rockcircuit.model import GND, V33, Circuit, Part

_CELL_V = (3.0, 4.2)
_RAILS_V = {
    GND: (0.0, 0.0),
    V33: (3.2, 3.4),
    "CELL_PLUS": _CELL_V,
    "CELL_MINUS": (0.0, 0.0),
    "FUSED": _CELL_V,
    "CHARGER_OUT": _CELL_V,
    "SWITCHED": (0.0, 4.2),
    "BRIDGE_E": (2.8, 3.4),
}


def circuit_of(board: str) -> Circuit:
    """Return the circuit for one of the processor boards.

    Raises:
        KeyError: If nobody designed it for that board.
    """
    one = processors.PROCESSORS[board]
    supply, usb = one.supply, one.usb
    # Between the cell less the diode's 0.4 V and USB's 5.25 V.
    rails_v = {**_RAILS_V, supply: (2.7, 5.25)}
    if usb:
        rails_v[usb] = (4.5, 5.25)
    parts = [
        _processor(board),
        *gauge.parts(),
        *text_line.parts(),
        *bridge.parts(),
        *motion.parts(),
        *panel.parts(),
        *power.parts(supply, usb),
    ]
    return Circuit(board, tuple(parts), rails_v)


def _processor(board: str) -> Part:
    one = processors.PROCESSORS[board]
    kind = processors.kind_of(board)
    nets = {f"GP{gpio}": role.upper() for role, gpio in one.pins.items()}
    nets |= {"3V3": V33, one.supply: one.supply}
    if one.usb:
        nets[one.usb] = one.usb
    wires = {pin.name: nets[pin.name] for pin in kind.pins if pin.name in nets}
    wires |= {pin.name: GND for pin in kind.pins if pin.name.split("-")[0] in ("GND", "AGND")}
    spare = frozenset(pin.name for pin in kind.pins) - frozenset(wires)
    return Part("U1", kind, "", "processor", wires, spare, "runs the program")

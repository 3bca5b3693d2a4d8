"""The wiring table: for each pin of the processor board, where its wire goes."""

from rockcircuit.build import circuit_of
from rockcircuit.model import GND, Circuit
from rockcircuit.processors import BOARDS, PROCESSORS

_WHAT = {
    "GAUGE_DATA": "gauge, data (behind its transistor)",
    "GAUGE_CLOCK": "gauge, clock (behind its transistor)",
    "GAUGE_REQUEST": "gauge, request (before its transistor)",
    "TORQUE_TX": "text line, what the board sends",
    "TORQUE_RX": "text line, what the board hears",
    "BRIDGE_DATA": "bridge converter, DT",
    "BRIDGE_CLOCK": "bridge converter, SCK",
    "MOTION_SDA": "motion sensor, SDA",
    "MOTION_SCL": "motion sensor, SCL",
    "BUTTON": "button",
    "LAMP_GREEN": "green lamp",
    "LAMP_RED": "red lamp",
    "BEEPER": "beeper's transistor",
    "BATTERY": "half the cell's voltage",
    "3V3": "3.3 V for all blocks",
    "VBUS": "the USB socket's 5 V, to the charger",
    "VSYS": "supply from the cell, behind its diode",
    "5V": "supply from the cell, behind its diode",
}

_OWN_SOCKET = "stays without a wire: charge through the charger's own USB socket"


def as_table(board: str) -> str:
    """Return the table of a board as Markdown."""
    circuit = circuit_of(board)
    lines = ["| pin | named | net | goes to | what it is |", "|---|---|---|---|---|"]
    processor = circuit.part("U1")
    grounds = []
    for pin in processor.kind.pins:
        net = processor.wires.get(pin.name)
        if net is None:
            continue
        if net == GND:
            grounds.append(pin.number)
            continue
        goes = _others(circuit, net) if net != "3V3" else "see the pictures"
        lines.append(f"| {pin.number} | {pin.name} | {net} | {goes} | {_WHAT[net]} |")
    lines.append(f"| {', '.join(grounds)} | GND | GND | see the pictures | ground |")
    if PROCESSORS[board].usb is None:
        lines.append(f"| none | | | U5.IN+ | {_OWN_SOCKET} |")
    return "\n".join(lines) + "\n"


def as_page() -> str:
    """Return the tables of all boards."""
    head = (
        "# Wiring of the processor boards\n\n"
        "Made by `make hardware` from the circuit; a test holds it against the firmware's own pin\n"
        'table. "R4.2" is leg 2 of R4.\n'
    )
    return head + "".join(f"\n## {board}\n\n{as_table(board)}" for board in BOARDS)


def _others(circuit: Circuit, net: str) -> str:
    return ", ".join(str(end) for end in circuit.ends(net) if end.part.ref != "U1")

"""The firmware's pin table against the netlist: role by role, for every board."""

from collections.abc import Iterator, Mapping

from rockcircuit.model import Circuit


def faults(circuit: Circuit, table: Mapping[str, int]) -> Iterator[str]:
    """Yield a sentence for each role whose pin is not where the circuit has it.

    Args:
        circuit: The circuit of one board.
        table: Role → GPIO number, as the firmware's boards/pins.py has it.
    """
    processor = circuit.part("U1")
    wired = {net: pin for pin, net in processor.wires.items() if pin.startswith("GP")}
    for role, gpio in table.items():
        pin = wired.pop(role.upper(), None)
        if pin is None:
            yield f"{circuit.board}: the firmware's {role} is on no pin of the circuit"
        elif pin != f"GP{gpio}":
            yield f"{circuit.board}: {role} is GP{gpio} for the firmware and {pin} in the circuit"
    for net, pin in wired.items():
        yield f"{circuit.board}: {pin} is wired to {net}, of which the firmware knows nothing"

"""Turn parts of the circuit into ngspice elements, wired as the netlist has them."""

from collections.abc import Iterable, Mapping

from rockcircuit.model import GND, Circuit, Part
from rockcircuit.spice.models import leakage_a
from rockcircuit.values import number_of

_ZENER_LEAK_OHM = 30e6  # 0.1 µA at 3 V


def node(net: str) -> str:
    """Return the node of a net; ground is 0."""
    return "0" if net == GND else net.lower()


def elements(
    parts: Iterable[Part], closed: frozenset[str], models: Mapping[str, str], temp_c: float
) -> list[str]:
    """Return the lines of parts; modules and sockets are left to whoever drives them.

    Args:
        parts: What to translate.
        closed: Jumpers that are in.
        models: Part → name of the transistor model.
        temp_c: For the leakage.
    """
    out: list[str] = []
    for part in parts:
        out += _lines(part, closed, models, temp_c)
    return out


def _lines(
    part: Part, closed: frozenset[str], models: Mapping[str, str], temp_c: float
) -> list[str]:
    wires = {pin: node(net) for pin, net in part.wires.items()}
    symbol = part.kind.symbol
    if symbol == "resistor":
        return [f"R{part.ref} {wires['1']} {wires['2']} {number_of(part.value):g}"]
    if symbol == "capacitor":
        return [f"C{part.ref} {wires['1']} {wires['2']} {number_of(part.value):g}"]
    if symbol == "zener":
        pins = f"{wires['A']} {wires['K']}"
        return [f"D{part.ref} {pins} ZENER", f"RL{part.ref} {pins} {_ZENER_LEAK_OHM:g}"]
    if symbol in ("diode", "schottky"):
        model = "SIGNAL" if symbol == "diode" else "SCHOTTKY"
        return [f"D{part.ref} {wires['A']} {wires['K']} {model}"]
    if symbol == "npn":
        return [
            f"Q{part.ref} {wires['C']} {wires['B']} {wires['E']} {models[part.ref]}",
            f"IL{part.ref} {wires['C']} {wires['E']} {leakage_a(temp_c):.4g}",
        ]
    if symbol == "jumper" and part.ref in closed:
        return [f"R{part.ref} {wires['1']} {wires['2']} 0.1"]
    return []


def around(circuit: Circuit, nets: Iterable[str]) -> list[Part]:
    """Return the parts of a block that hang on nets, following all but rails and modules."""
    wanted, seen, found = list(nets), set[str](), dict[str, Part]()
    while wanted:
        net = wanted.pop()
        if net in seen or net in circuit.rails_v:
            continue
        seen.add(net)
        for end in circuit.ends(net):
            part = end.part
            if part.kind.symbol in ("processor", "module", "socket"):
                continue
            found[part.ref] = part
            wanted += part.wires.values()
    return [part for part in circuit.parts if part.ref in found]


def wave(changes: Iterable[tuple[float, float]], edge_us: float = 1.0) -> str:
    """Return a PWL source's points from (µs, volt) steps."""
    points: list[tuple[float, float]] = []
    for t_us, volt in changes:
        if points and points[-1][1] != volt:
            points.append((t_us, points[-1][1]))
        points.append((t_us + (edge_us if points else 0.0), volt))
    return "PWL(" + " ".join(f"{t_us * 1e-6:.9g} {volt:.5g}" for t_us, volt in points) + ")"


def cable(source: str, net: str, source_ohm: float, farad: float) -> list[str]:
    """Return a line's way into the box: the gauge's own resistance, then the cable."""
    name = node(net)
    return [
        f"RS_{name} {source} {name}_far {source_ohm:g}",
        f"CA_{name} {name}_far 0 {farad / 2:g}",
        f"RC_{name} {name}_far {name} 0.2",
        f"CB_{name} {name} 0 {farad / 2:g}",
    ]

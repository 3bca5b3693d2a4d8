"""Rules that know what a part is for: which way round it sits, and what must stand beside it.

A swapped leg of a transistor passes every general check, for each leg is on a net. These do not let
it pass.
"""

from collections.abc import Iterator

from rockcircuit.model import GND, V33, Act, Circuit, End, Part
from rockcircuit.values import number_of

_OUTSIDE = "socket"
_CLAMPS = ("zener", "diode", "schottky")


def transistors(circuit: Circuit) -> Iterator[str]:
    """A switching NPN: emitter to ground, base behind a resistor and held off by another one."""
    for part in _of(circuit, "npn"):
        if part.wires.get("E") != GND:
            yield f"{part.ref}.E: the emitter of a switch belongs on ground"
        base, collector = part.wires.get("B", ""), part.wires.get("C", "")
        if collector in circuit.rails_v:
            yield f"{part.ref}.C: the collector sits on {collector}, which has no load before it"
        if len(_beside(circuit, base, "resistor")) < 2 or base in circuit.rails_v:
            yield f"{part.ref}.B: the base wants a resistor before it and one that holds it off"
        elif GND not in _others(circuit, base):
            yield f"{part.ref}.B: nothing holds the base off while its driver sleeps"


def diodes(circuit: Circuit) -> Iterator[str]:
    """The bar points to where the more positive side is, so that none conducts all the time."""
    for part in circuit.parts:
        if part.kind.symbol not in _CLAMPS:
            continue
        anode, cathode = part.wires.get("A", ""), part.wires.get("K", "")
        if cathode == GND:
            yield f"{part.ref}: its bar is on ground; it is the wrong way round"
        if anode in circuit.rails_v and anode != GND and part.kind.symbol != "schottky":
            yield f"{part.ref}: its anode is on {anode}; it is the wrong way round"
        if part.kind.symbol == "zener" and anode != GND:
            yield f"{part.ref}: its anode belongs on ground"


def lamps(circuit: Circuit) -> Iterator[str]:
    """A lamp sits behind a resistor, its flat side towards ground."""
    for part in _of(circuit, "led"):
        anode = part.wires.get("A", "")
        driven = any(end.pin.act is Act.OUTPUT for end in circuit.ends(anode))
        if driven or anode in circuit.rails_v or not _beside(circuit, anode, "resistor"):
            yield f"{part.ref}: no resistor before it"
        if part.wires.get("K") != GND:
            yield f"{part.ref}: its flat side belongs on ground"


def coils(circuit: Circuit) -> Iterator[str]:
    """A switched coil has a diode across it, bar to its supply."""
    for part in _of(circuit, "beeper"):
        plus, minus = part.wires.get("+"), part.wires.get("-")
        across = [
            diode
            for diode in _of(circuit, "diode")
            if (diode.wires.get("K"), diode.wires.get("A")) == (plus, minus)
        ]
        if not across:
            yield f"{part.ref}: no diode lets the coil's current run on"


def leaving(circuit: Circuit) -> Iterator[str]:
    """What leaves the box passes a resistor, and is cut off by a diode behind it.

    A line of RS-232 goes straight to its converter, whose chip is made for it.
    """
    for part in _of(circuit, _OUTSIDE):
        for pin, net in part.wires.items():
            if net == GND or _for_outside(circuit, net, part):
                continue
            if any(end.pin.act is not Act.PASSIVE for end in circuit.ends(net)):
                yield f"{part.ref}.{pin}: leaves the box with nothing between it and a chip"
                continue
            inner = _others(circuit, net)
            if not inner:
                yield f"{part.ref}.{pin}: leaves the box without a resistor"
            elif not any(_clamped(circuit, other) for other in inner):
                yield f"{part.ref}.{pin}: leaves the box without a diode that cuts sparks off"


def inputs_bear_it(circuit: Circuit) -> Iterator[str]:
    """No processor pin meets a rail above what it bears, directly or through a divider."""
    for end in (End(part, pin) for part in _of(circuit, "processor") for pin in part.kind.pins):
        net = end.part.wires.get(end.pin.name)
        if net is None or end.pin.act in (Act.SUPPLY, Act.SUPPLIED, Act.PASSIVE):
            continue
        if net in circuit.rails_v:
            yield f"{end}: on {net}, which is a supply"
        high_v = _highest_v(circuit, net)
        if end.pin.most_v is not None and high_v > end.pin.most_v:
            yield f"{end}: may see {high_v:.1f} V, bears {end.pin.most_v} V"


def _highest_v(circuit: Circuit, net: str) -> float:
    """Return what the resistors on a net make of the rails at their other ends."""
    siemens = ampere = 0.0
    for part in _beside(circuit, net, "resistor"):
        other = next(name for name in part.wires.values() if name != net)
        if other in circuit.rails_v:
            ohm = number_of(part.value)
            siemens += 1 / ohm
            ampere += circuit.rails_v[other][1] / ohm
    return ampere / siemens if siemens else 0.0


def _of(circuit: Circuit, symbol: str) -> list[Part]:
    return [part for part in circuit.parts if part.kind.symbol == symbol]


def _beside(circuit: Circuit, net: str, symbol: str) -> list[Part]:
    return [part for part in _of(circuit, symbol) if net in part.wires.values()]


def _others(circuit: Circuit, net: str) -> set[str]:
    """Return the nets at the other ends of a net's resistors."""
    parts = _beside(circuit, net, "resistor")
    return {name for part in parts for name in part.wires.values() if name != net}


def _clamped(circuit: Circuit, net: str) -> bool:
    """Say whether a Zener diode, or a pair of diodes to both rails, sits on a net."""
    if any(part.wires.get("K") == net for part in _of(circuit, "zener")):
        return True
    pair = [part for symbol in ("diode", "schottky") for part in _of(circuit, symbol)]
    below = any(part.wires.get("K") == net and part.wires.get("A") == GND for part in pair)
    above = any(
        part.wires.get("A") == net and part.wires.get("K") in (V33, "BRIDGE_E") for part in pair
    )
    return below and above


def _for_outside(circuit: Circuit, net: str, socket: Part) -> bool:
    others = [end for end in circuit.ends(net) if end.part is not socket]
    return bool(others) and all((end.pin.most_v or 0.0) >= 12.0 for end in others)


CHECKS = (transistors, diodes, lamps, coils, leaving, inputs_bear_it)

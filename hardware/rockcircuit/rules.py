"""Electrical rules that hold for any circuit: every breach is a fault, there are no warnings.

The words and the idea are those of electrical rule checks in schematic editors. SKiDL's own check
runs beside these in `make hardware`; these need nothing installed.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise

from rockcircuit import rules_parts
from rockcircuit.model import Act, Circuit, End

_SPEAKS = (Act.OUTPUT, Act.SUPPLY)
_GROUND_V = (0.0, 0.0)


def faults(circuit: Circuit) -> list[str]:
    """Return a sentence for every breach; an empty list is a pass."""
    checks: tuple[Callable[[Circuit], Iterator[str]], ...] = (
        names,
        every_pin,
        lonely_nets,
        one_speaker,
        somebody_speaks,
        supplies,
        *rules_parts.CHECKS,
    )
    return [fault for check in checks for fault in check(circuit)]


def names(circuit: Circuit) -> Iterator[str]:
    """Each part has a name of its own."""
    for one, other in pairwise(sorted(part.ref for part in circuit.parts)):
        if one == other:
            yield f"{one}: two parts have this name"


def every_pin(circuit: Circuit) -> Iterator[str]:
    """Each pin is on a net, or stays open on purpose; never both."""
    for part in circuit.parts:
        known = {pin.name for pin in part.kind.pins}
        for pin in sorted(known - set(part.wires) - part.unused):
            yield f"{part.ref}.{pin}: on no net, and nobody says that it stays open"
        for pin in sorted((set(part.wires) | part.unused) - known):
            yield f"{part.ref}.{pin}: {part.kind.name} has no such pin"
        for pin in sorted(set(part.wires) & part.unused):
            yield f"{part.ref}.{pin}: said to stay open, but is on {part.wires[pin]}"


def lonely_nets(circuit: Circuit) -> Iterator[str]:
    """A net joins at least two pins."""
    for net, ends in circuit.nets().items():
        if len(ends) < 2:
            yield f"{net}: only {ends[0]} is on it"


def one_speaker(circuit: Circuit) -> Iterator[str]:
    """At most one output or supply is on a net; an open collector does not fight a supply."""
    for net, ends in circuit.nets().items():
        speakers = [end for end in ends if end.pin.act in _SPEAKS]
        cell = {end.part.ref for end in speakers}
        grounds = circuit.rails_v.get(net) == _GROUND_V
        if len(cell) > 1 and not grounds:
            yield f"{net}: {_list(speakers)} drive against each other"
        supplied = any(end.pin.act is Act.SUPPLY for end in ends)
        for end in ends:
            if end.pin.act is Act.OPEN_COLLECTOR and supplied and not grounds:
                yield f"{net}: {end} would short it to ground"


def somebody_speaks(circuit: Circuit) -> Iterator[str]:
    """An input is on a net with something that gives it a level."""
    for net, ends in circuit.nets().items():
        inputs = [end for end in ends if end.pin.act is Act.INPUT]
        if inputs and len(inputs) == len(ends):
            yield f"{net}: nothing drives {_list(inputs)}"


def supplies(circuit: Circuit) -> Iterator[str]:
    """A supplied pin is on a rail whose whole range suits it."""
    for net, ends in circuit.nets().items():
        for end in ends:
            if end.pin.act is not Act.SUPPLIED:
                continue
            if net not in circuit.rails_v:
                yield f"{net}: {end} wants a supply, and this is none"
                continue
            low_v, high_v = circuit.rails_v[net]
            if low_v < end.pin.least_v:
                yield f"{net}: {end} needs {end.pin.least_v} V, gets {low_v} V"
            if end.pin.most_v is not None and high_v > end.pin.most_v:
                yield f"{net}: {end} bears {end.pin.most_v} V, gets {high_v} V"


def _list(ends: list[End]) -> str:
    return ", ".join(str(end) for end in ends)

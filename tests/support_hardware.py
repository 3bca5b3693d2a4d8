"""Break a circuit on purpose: what a slip of pen or iron would do."""

from dataclasses import replace


def rewired(circuit, ref, **pins):
    """Return the circuit with pins of one part put on other nets; None cuts a pin off.

    Pins that are no Python names come as `_1`, `E_plus`.
    """
    parts = []
    for part in circuit.parts:
        if part.ref == ref:
            wires = dict(part.wires)
            for name, net in pins.items():
                pin = name.lstrip("_").replace("_plus", "+").replace("_minus", "-")
                if net is None:
                    del wires[pin]
                else:
                    wires[pin] = net
            part = replace(part, wires=wires)
        parts.append(part)
    return replace(circuit, parts=tuple(parts))


def without(circuit, ref):
    """Return the circuit with a part left out."""
    return replace(circuit, parts=tuple(part for part in circuit.parts if part.ref != ref))


def with_kind(circuit, ref, kind):
    """Return the circuit with another kind of part in one place."""
    parts = [replace(part, kind=kind) if part.ref == ref else part for part in circuit.parts]
    return replace(circuit, parts=tuple(parts))


def renamed(circuit, ref, name):
    """Return the circuit with a part under another name."""
    parts = [replace(part, ref=name) if part.ref == ref else part for part in circuit.parts]
    return replace(circuit, parts=tuple(parts))

"""A sheet to draw on that cannot say anything else than the circuit.

Names and values are asked of the circuit. A wire may only join pins that are on one net. `finish`
refuses a picture that leaves out a part or a pin of its block, or leaves two pins of one net apart.
"""

from collections.abc import Iterable
from typing import Any, Literal

import schemdraw
import schemdraw.elements as elm

from rockcircuit.errors import PictureError
from rockcircuit.model import GND, Circuit, Part
from rockcircuit.pictures import lines
from rockcircuit.pictures.lines import Point
from rockcircuit.values import printed

_TWO_LEGS = {
    "resistor": (elm.Resistor, ("1", "2")),
    "capacitor": (elm.Capacitor, ("1", "2")),
    "zener": (elm.Zener, ("A", "K")),
    "diode": (elm.Diode, ("A", "K")),
    "schottky": (elm.Schottky, ("A", "K")),
    "led": (elm.LED, ("A", "K")),
    "fuse": (elm.Fuse, ("1", "2")),
    "cell": (elm.BatteryCell, ("-", "+")),
    "button": (elm.Button, ("1", "2")),
    "switch": (elm.Switch, ("A", "B")),
    "beeper": (elm.Inductor2, ("+", "-")),
    "jumper": (elm.Switch, ("1", "2")),
}
_SHORT = {"zener": "6.8 V", "cell": "1000 mAh", "fuse": "0.5 A", "beeper": "42 Ω", "led": ""}


class Sheet:
    """One picture.

    Args:
        circuit: What is drawn.
        block: Which of its blocks.
    """

    def __init__(self, circuit: Circuit, block: str) -> None:
        schemdraw.use("svg")
        self._circuit = circuit
        self._block = block
        self._drawing = schemdraw.Drawing(show=False)
        self._drawing.config(unit=2.0, fontsize=11, font="sans-serif", bgcolor="white", margin=0.3)
        self._at: dict[tuple[str, str], Point] = {}
        self._joined: dict[tuple[str, str], tuple[str, str]] = {}
        self._wires: list[tuple[str, lines.Stretch]] = []

    def legs(self, ref: str, at: Point, way: str = "right", *, turned: bool = False) -> None:
        """Draw a part with two legs from a point on; `turned` puts the other leg first."""
        part = self._part(ref)
        element, (first, second) = _TWO_LEGS[part.kind.symbol]
        one = element().at(at)
        getattr(one, way)()
        if turned:
            one.reverse()
        label = f"{ref}\n{self._value(part)}"
        # Beside an upright part there is room to the right, above a lying one on top.
        one.label(label, loc="bottom" if way == "down" else "top", fontsize=9)
        self._drawing.add(one)
        start, end = self._point(one.absanchors["start"]), self._point(one.absanchors["end"])
        near, far = (second, first) if turned else (first, second)
        self._put(ref, near, start)
        self._put(ref, far, end)

    def transistor(self, ref: str, base_at: Point) -> None:
        """Draw an NPN with its base at a point."""
        part = self._part(ref)
        one = elm.BjtNpn().right().anchor("base").at(base_at)
        one.label(f"{ref}\n{part.kind.name}", loc="right", fontsize=9)
        self._drawing.add(one)
        for pin, anchor in (("B", "base"), ("C", "collector"), ("E", "emitter")):
            self._put(ref, pin, self._point(one.absanchors[anchor]))

    def box(
        self, ref: str, at: Point, left: Iterable[str], right: Iterable[str], wide: float = 3.4
    ) -> None:
        """Draw a module or socket as a box, its lower left corner at a point.

        Args:
            ref: The part.
            at: Lower left corner.
            left: Pins on the left side, from the top.
            right: Pins on the right side, from the top.
            wide: Of the box.
        """
        part = self._part(ref)
        sides: dict[Literal["left", "right"], list[str]] = {
            "left": list(left),
            "right": list(right),
        }
        pins = [
            elm.IcPin(
                name=pin.split("-")[0] if part.kind.symbol == "processor" else pin,
                pin=part.kind.pin(pin).number if part.kind.symbol == "processor" else None,
                side=side,
                anchorname=f"p{index}{side}",
                slot=self._slot(index, row),
            )
            for side, row in sides.items()
            for index, pin in enumerate(row)
        ]
        tall = 1.0 * max(len(row) for row in sides.values()) + 0.4
        one = elm.Ic(pins=pins, size=(wide, tall), leadlen=0.5).at(at).theta(0)
        one.label(self._title(part), loc="top", fontsize=9)
        self._drawing.add(one)
        for side, row in sides.items():
            for index, pin in enumerate(row):
                self._put(ref, pin, self._point(one.absanchors[f"p{index}{side}"]))

    def at(self, end: str) -> Point:
        """Return where a pin is: "R1.2"."""
        return self._at[self._key(end)]

    def wire(self, one: str, other: str, shape: str = "-") -> None:
        """Join two pins of one net.

        Raises:
            PictureError: If the circuit does not join them.
        """
        first, second = self._key(one), self._key(other)
        if self._net(first) != self._net(second):
            raise PictureError(
                f"the picture joins {one} ({self._net(first)}) and {other} ({self._net(second)})"
            )
        self._join(first, second)
        for stretch in lines.stretches(self._at[first], self._at[second], shape):
            self._wires.append((self._net(first), stretch))
        self._drawing.add(elm.Wire(shape).at(self._at[first]).to(self._at[second]))

    def dot(self, *ends: str) -> None:
        """Mark where wires meet."""
        for end in ends:
            self._drawing.add(elm.Dot().at(self.at(end)))

    def tag(self, end: str, way: str = "right", *, ground_named: bool = False) -> None:
        """Write the net's name at a pin; GND and supplies have their usual sign.

        Where pins stand close, `ground_named` writes GND like any other: its sign needs room.
        """
        key = self._key(end)
        net = self._net(key)
        self._join(key, ("net", net))
        at = self._at[key]
        if net == GND and not ground_named:
            self._drawing.add(elm.Ground().at(at))
        elif net in self._circuit.rails_v and way == "up":
            sign = elm.Vdd()  # type: ignore[no-untyped-call]
            self._drawing.add(sign.at(at).label(net, fontsize=9))
        else:
            self._drawing.add(
                getattr(elm.Tag(width=_width(net)).at(at), way)().label(net, fontsize=9)
            )

    def finish(self) -> bytes:
        """Return the picture as SVG.

        Raises:
            PictureError: If a part or pin of the block is missing, or a net is in pieces.
        """
        for part in self._circuit.block(self._block):
            for pin in part.wires:
                key = (part.ref, pin)
                if key not in self._at:
                    raise PictureError(f"{self._block}: {part.ref}.{pin} is not in the picture")
        for net, ends in self._circuit.nets().items():
            here = [(end.part.ref, end.pin.name) for end in ends if end.part.block == self._block]
            pieces = {self._root(key) for key in here}
            leaves = len(here) < len(ends)
            whole = {self._root(("net", net))} if leaves else pieces
            if here and (len(pieces) > 1 or pieces != whole):
                raise PictureError(f"{self._block}: {net} is in pieces, or has no name to go on by")
        pins = [
            (".".join(key), self._circuit.part(key[0]).wires.get(key[1], ""), at)
            for key, at in self._at.items()
        ]
        for fault in lines.faults(self._wires, pins):
            raise PictureError(f"{self._block}: {fault}")
        data: bytes = self._drawing.get_imagedata("svg")
        return data

    def _part(self, ref: str) -> Part:
        part = self._circuit.part(ref)
        if part.block != self._block:
            raise PictureError(f"{ref} belongs to {part.block}, not to {self._block}")
        return part

    def _put(self, ref: str, pin: str, at: Point) -> None:
        if pin not in self._circuit.part(ref).wires | dict.fromkeys(self._part(ref).unused):
            raise PictureError(f"{ref} has no pin {pin} on a net")
        self._at[ref, pin] = at

    def _key(self, end: str) -> tuple[str, str]:
        ref, _, pin = end.partition(".")
        if (ref, pin) not in self._at:
            raise PictureError(f"{end} is not drawn yet")
        return ref, pin

    def _net(self, key: tuple[str, str]) -> str:
        return self._circuit.part(key[0]).net(key[1])

    def _join(self, one: tuple[str, str], other: tuple[str, str]) -> None:
        first, second = self._root(one), self._root(other)
        if first != second:
            self._joined[first] = second

    def _root(self, key: tuple[str, str]) -> tuple[str, str]:
        while key in self._joined:
            key = self._joined[key]
        return key

    @staticmethod
    def _value(part: Part) -> str:
        value = printed(part.value) or _SHORT.get(part.kind.symbol, part.kind.name.split(",")[0])
        return "" if part.kind.symbol in ("button", "switch", "jumper") else value

    @staticmethod
    def _title(part: Part) -> str:
        name = part.kind.name.split(",")[0]
        return f"{part.ref}  {name}" if len(name) < 40 else f"{part.ref}\n{name}"

    @staticmethod
    def _slot(index: int, row: list[str]) -> str:
        # Slots count from the bottom; the rows are given from the top.
        return f"{len(row) - index}/{len(row)}"

    @staticmethod
    def _point(at: Any) -> Point:
        x, y = at
        return round(float(x), 4), round(float(y), 4)


def _width(net: str) -> float:
    return 0.6 + 0.19 * len(net)

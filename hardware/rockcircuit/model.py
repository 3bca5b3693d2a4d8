"""What a circuit is: parts, their pins, and the net that each pin is on."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum

GND = "GND"
V33 = "3V3"


class Act(Enum):
    """What a pin does to its net; the words of electrical rule checks."""

    PASSIVE = "passive"
    INPUT = "input"
    OUTPUT = "output"
    OPEN_COLLECTOR = "open collector"
    BOTH_WAYS = "both ways"
    SUPPLIED = "supplied"
    SUPPLY = "supply"


@dataclass(frozen=True, slots=True)
class Pin:
    """A pin of a kind of part.

    Attributes:
        number: As the part's data sheet counts it.
        name: Unique within the kind.
        act: What it does to its net.
        least_v: For a supplied pin, the lowest voltage it works from.
        most_v: For any pin, the highest voltage that it may see for long; None where no rule asks.
    """

    number: str
    name: str
    act: Act = Act.PASSIVE
    least_v: float = 0.0
    most_v: float | None = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of part, as it is bought.

    Attributes:
        name: What to ask for.
        symbol: Which drawing and which simulation model it has.
        pins: In the order of their numbers.
        footprint: Name in the usual open footprint library.
        price_eur: Estimate for one piece, bought in small number.
        remark: What matters when another type is taken.
    """

    name: str
    symbol: str
    pins: tuple[Pin, ...]
    footprint: str
    price_eur: float
    remark: str = ""

    def pin(self, name: str) -> Pin:
        """Return the pin of that name.

        Raises:
            KeyError: If there is none.
        """
        for pin in self.pins:
            if pin.name == name:
                return pin
        raise KeyError(f"{self.name} has no pin {name}")


@dataclass(frozen=True, slots=True)
class Part:
    """One part on the board.

    Attributes:
        ref: Its name in picture and parts list.
        kind: What it is.
        value: What is printed on it: "100k", "6.8 V"; "" where the kind says all.
        block: Which picture it is on.
        wires: Pin name → net.
        unused: Pins that stay open on purpose.
        role: What it is there for, in a few words.
    """

    ref: str
    kind: Kind
    value: str
    block: str
    wires: dict[str, str]
    unused: frozenset[str] = frozenset()
    role: str = ""

    def net(self, pin: str) -> str:
        """Return the net that a pin is on.

        Raises:
            KeyError: If it is on none.
        """
        return self.wires[pin]


@dataclass(frozen=True, slots=True)
class End:
    """A pin of one part, as a net sees it."""

    part: Part
    pin: Pin

    def __str__(self) -> str:
        return f"{self.part.ref}.{self.pin.name}"


@dataclass(frozen=True, slots=True)
class Circuit:
    """All parts of a board.

    Attributes:
        board: Which row of the firmware's pin table it is for.
        parts: In the order of the parts list.
        rails_v: Net → (lowest, highest) voltage that it can have, for supplies.
    """

    board: str
    parts: tuple[Part, ...]
    rails_v: dict[str, tuple[float, float]] = field(default_factory=dict)

    def part(self, ref: str) -> Part:
        """Return the part of that name.

        Raises:
            KeyError: If there is none.
        """
        for part in self.parts:
            if part.ref == ref:
                return part
        raise KeyError(f"no part {ref}")

    def block(self, name: str) -> tuple[Part, ...]:
        """Return the parts of one picture."""
        return tuple(part for part in self.parts if part.block == name)

    def blocks(self) -> tuple[str, ...]:
        """Return the names of the pictures, in order."""
        return tuple(dict.fromkeys(part.block for part in self.parts))

    def ends(self, net: str) -> tuple[End, ...]:
        """Return what is on a net."""
        return tuple(end for name, end in self._all() if name == net)

    def nets(self) -> dict[str, tuple[End, ...]]:
        """Return every net with what is on it."""
        out: dict[str, list[End]] = {}
        for name, end in self._all():
            out.setdefault(name, []).append(end)
        return {name: tuple(ends) for name, ends in out.items()}

    def _all(self) -> Iterator[tuple[str, End]]:
        for part in self.parts:
            for pin in part.kind.pins:
                if pin.name in part.wires:
                    yield part.wires[pin.name], End(part, pin)

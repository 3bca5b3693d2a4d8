"""The gauge's lines: two level shifters, the request line, and pull-ups for open outputs.

A low-cost gauge drives its lines from its own 1.5 V cell, far below what a 3.3 V input calls high.
Each line therefore switches a transistor; that turns it round, which the setting `inverted` knows.
Beside a comparator or a MOSFET, a transistor with 47 kΩ before its base needs no supply of its own
from the gauge, takes some 10 µA only, still works at 1.25 V, and does not feed the gauge when the
board is off. 470 kΩ from base to emitter keeps it off while the cable is out. With 100 kΩ and 1 MΩ
it takes a third less, but the data line then moves only 3 µs before it is read in the hardest
corner of the simulation, instead of 10.

The jumpers are for a gauge whose outputs only pull down (the 52-bit BCD kind, from memory).
"""

from rockcircuit import kinds
from rockcircuit.model import GND, V33, Part

BLOCK = "gauge"
SOCKET = kinds.header("socket of the gauge, 4 contacts", ("GND", "DATA", "CLOCK", "REQUEST"), 1.50)


def parts() -> list[Part]:
    """Return the parts of this block."""
    return [
        Part(
            "J1",
            SOCKET,
            "",
            BLOCK,
            {
                "GND": GND,
                "DATA": "GAUGE_DATA_OUT",
                "CLOCK": "GAUGE_CLOCK_OUT",
                "REQUEST": "GAUGE_REQUEST_OUT",
            },
            role="cable to the gauge",
        ),
        *_channel("GAUGE_DATA", 1, "JP1"),
        *_channel("GAUGE_CLOCK", 2, "JP2"),
        *_request(),
    ]


def _channel(role: str, number: int, jumper: str) -> list[Part]:
    """Return one level shifter; parts of the first count from 1, of the second from 6."""
    line, base = f"{role}_LINE", f"{role}_BASE"
    first = 5 * number - 4

    def resistor(at: int, value: str, one: str, other: str, purpose: str) -> Part:
        wires = {"1": one, "2": other}
        return Part(f"R{first + at}", kinds.RESISTOR, value, BLOCK, wires, role=purpose)

    return [
        resistor(0, "1k", f"{role}_OUT", line, "takes the brunt of a spark"),
        Part(
            f"D{number}",
            kinds.ZENER,
            "",
            BLOCK,
            {"K": line, "A": GND},
            role="cuts off what is above 6.8 V and below 0 V",
        ),
        resistor(1, "47k", line, base, "base current: some 10 µA"),
        resistor(2, "470k", base, GND, "off while the cable is out"),
        Part(
            f"Q{number}",
            kinds.SIGNAL_NPN,
            "",
            BLOCK,
            {"C": role, "B": base, "E": GND},
            role="lifts 1.5 V to 3.3 V, and turns it round",
        ),
        resistor(3, "47k", V33, role, "high while the transistor is off"),
        resistor(4, "47k", f"{role}_PULL", line, "pull-up for a gauge with open outputs"),
        Part(
            jumper,
            kinds.JUMPER_2,
            "",
            BLOCK,
            {"1": V33, "2": f"{role}_PULL"},
            role="closed only for a gauge with open outputs",
        ),
    ]


def _request() -> list[Part]:
    def resistor(ref: str, value: str, one: str, other: str, purpose: str) -> Part:
        return Part(ref, kinds.RESISTOR, value, BLOCK, {"1": one, "2": other}, role=purpose)

    return [
        resistor("R11", "10k", "GAUGE_REQUEST", "REQUEST_BASE", "base current"),
        resistor("R12", "100k", "REQUEST_BASE", GND, "lets go while the processor starts"),
        Part(
            "Q3",
            kinds.SIGNAL_NPN,
            "",
            BLOCK,
            {"C": "REQUEST_LINE", "B": "REQUEST_BASE", "E": GND},
            role="pulls the request line low",
        ),
        resistor("R13", "100", "REQUEST_LINE", "GAUGE_REQUEST_OUT", "takes the brunt of a spark"),
        Part(
            "D3",
            kinds.ZENER,
            "",
            BLOCK,
            {"K": "REQUEST_LINE", "A": GND},
            role="cuts off what is above 6.8 V and below 0 V",
        ),
    ]

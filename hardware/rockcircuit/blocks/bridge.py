"""The bridge converter for a torque transducer with four wires.

The excitation is the converter's own supply, so a change of it changes signal and reference alike.
1 kΩ and small diodes to both ends of the excitation keep sparks out; their leakage, some nA, makes
less than 1 µV across a bridge of 350 Ω.
"""

from rockcircuit import kinds, modules
from rockcircuit.model import GND, V33, Part

BLOCK = "bridge"
SOCKET = kinds.header("socket of the bridge, 4 contacts", ("E+", "E-", "A+", "A-"), 1.50)


def parts() -> list[Part]:
    """Return the parts of this block."""
    return [
        Part(
            "J4",
            SOCKET,
            "",
            BLOCK,
            {"E+": "BRIDGE_E_OUT", "E-": GND, "A+": "BRIDGE_P_OUT", "A-": "BRIDGE_N_OUT"},
            role="cable to the transducer; its screen goes to E-",
        ),
        Part(
            "R18",
            kinds.RESISTOR,
            "1",
            BLOCK,
            {"1": "BRIDGE_E", "2": "BRIDGE_E_OUT"},
            role="takes the brunt of a spark; costs 0.3 % of excitation, the same for every value",
        ),
        Part("D7", kinds.ZENER, "", BLOCK, {"K": "BRIDGE_E", "A": GND}, role="cuts off sparks"),
        *_input("P", 8, "R19"),
        *_input("N", 10, "R20"),
        _converter(),
    ]


def _converter() -> Part:
    return Part(
        "U3",
        modules.BRIDGE,
        "",
        BLOCK,
        {
            "VCC": V33,
            "GND": GND,
            "DT": "BRIDGE_DATA",
            "SCK": "BRIDGE_CLOCK",
            "E+": "BRIDGE_E",
            "E-": GND,
            "A+": "BRIDGE_P",
            "A-": "BRIDGE_N",
        },
        unused=frozenset(("B+", "B-")),
        role="only for a torque transducer",
    )


def _input(side: str, first: int, resistor: str) -> list[Part]:
    inner = f"BRIDGE_{side}"
    diode = kinds.SIGNAL_DIODE
    return [
        Part(
            resistor,
            kinds.RESISTOR,
            "1k",
            BLOCK,
            {"1": f"{inner}_OUT", "2": inner},
            role="takes the brunt of a spark",
        ),
        Part(f"D{first}", diode, "", BLOCK, {"K": "BRIDGE_E", "A": inner}, role="not above"),
        Part(f"D{first + 1}", diode, "", BLOCK, {"K": inner, "A": GND}, role="not below"),
    ]

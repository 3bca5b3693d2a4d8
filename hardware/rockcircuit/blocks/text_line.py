"""The text line: a UART at 3.3 V, or the same through a converter to RS-232.

Only one of both may drive the processor's input, so a jumper chooses. What comes in passes 10 kΩ
and two diodes: a line of 5 V, or on a Pico even RS-232 put on the wrong socket, does no harm.
"""

from rockcircuit import kinds, modules
from rockcircuit.model import GND, V33, Part

BLOCK = "text line"
TTL_SOCKET = kinds.header("socket, 3 contacts", ("GND", "RX", "TX"), 1.20)
RS232_SOCKET = kinds.header("RS-232 socket, 3 contacts in use", ("GND", "RX", "TX"), 1.50)


def _resistor(ref: str, value: str, one: str, other: str, purpose: str) -> Part:
    return Part(ref, kinds.RESISTOR, value, BLOCK, {"1": one, "2": other}, role=purpose)


def parts() -> list[Part]:
    """Return the parts of this block."""
    return [*_ttl(), *_rs232()]


def _ttl() -> list[Part]:
    return [
        Part(
            "J2",
            TTL_SOCKET,
            "",
            BLOCK,
            {"GND": GND, "RX": "TEXT_RX_OUT", "TX": "TEXT_TX_OUT"},
            role="text line of 3.3 V or 5 V; RX is what comes in",
        ),
        _resistor("R14", "10k", "TEXT_RX_OUT", "TEXT_RX", "limits what comes in"),
        Part("D4", kinds.SMALL_SCHOTTKY, "", BLOCK, {"K": V33, "A": "TEXT_RX"}, role="not above"),
        Part("D5", kinds.SMALL_SCHOTTKY, "", BLOCK, {"K": "TEXT_RX", "A": GND}, role="not below"),
        Part(
            "JP3",
            kinds.JUMPER_3,
            "",
            BLOCK,
            {"1": "TEXT_RX", "2": "TORQUE_RX", "3": "RS232_RX"},
            role="1-2: text line at J2; 2-3: RS-232 at J3",
        ),
        _resistor("R15", "100k", V33, "TORQUE_RX", "quiet while no cable is in"),
        _resistor("R16", "1k", "TORQUE_TX", "TEXT_TX", "limits what a wrong plug can do"),
        Part("D6", kinds.ZENER, "", BLOCK, {"K": "TEXT_TX", "A": GND}, role="cuts off sparks"),
        _resistor("R17", "100", "TEXT_TX", "TEXT_TX_OUT", "takes the brunt of a spark"),
    ]


def _rs232() -> list[Part]:
    return [
        Part(
            "U2",
            modules.RS232,
            "",
            BLOCK,
            {
                "VCC": V33,
                "GND": GND,
                "T1IN": "TORQUE_TX",
                "R1OUT": "RS232_RX",
                "T1OUT": "RS232_TX_OUT",
                "R1IN": "RS232_RX_OUT",
            },
            role="only if an instrument speaks RS-232; leave it out else",
        ),
        Part(
            "J3",
            RS232_SOCKET,
            "",
            BLOCK,
            {"GND": GND, "RX": "RS232_RX_OUT", "TX": "RS232_TX_OUT"},
            role="RS-232; the converter's chip has its own protection",
        ),
    ]

"""What the technician sees, hears and presses: two lamps, a beeper, a button."""

from rockcircuit import kinds
from rockcircuit.model import GND, V33, Part

BLOCK = "panel"


def _resistor(ref: str, value: str, one: str, other: str, purpose: str) -> Part:
    return Part(ref, kinds.RESISTOR, value, BLOCK, {"1": one, "2": other}, role=purpose)


def parts() -> list[Part]:
    """Return the parts of this block."""
    return [
        Part("S1", kinds.BUTTON, "", BLOCK, {"1": "BUTTON_OUT", "2": GND}, role="start and stop"),
        _resistor("R23", "1k", "BUTTON_OUT", "BUTTON", "keeps a finger's spark out"),
        Part(
            "C1",
            kinds.CAPACITOR,
            "100n",
            BLOCK,
            {"1": "BUTTON", "2": GND},
            role="with R23, against bouncing",
        ),
        _resistor("R24", "470", "LAMP_GREEN", "GREEN_ANODE", "about 3 mA"),
        Part("D12", kinds.GREEN_LAMP, "", BLOCK, {"A": "GREEN_ANODE", "K": GND}, role="green"),
        _resistor("R25", "470", "LAMP_RED", "RED_ANODE", "about 3 mA"),
        Part("D13", kinds.RED_LAMP, "", BLOCK, {"A": "RED_ANODE", "K": GND}, role="red"),
        _resistor("R26", "1k", "BEEPER", "BEEPER_BASE", "base current"),
        _resistor("R27", "10k", "BEEPER_BASE", GND, "quiet while the processor starts"),
        Part(
            "Q4",
            kinds.DRIVER_NPN,
            "",
            BLOCK,
            {"C": "BEEPER_COIL", "B": "BEEPER_BASE", "E": GND},
            role="switches the beeper's coil",
        ),
        Part("LS1", kinds.BEEPER, "", BLOCK, {"+": V33, "-": "BEEPER_COIL"}, role="2.7 kHz"),
        Part(
            "D14",
            kinds.SIGNAL_DIODE,
            "",
            BLOCK,
            {"K": V33, "A": "BEEPER_COIL"},
            role="lets the coil's current run on when it is switched off",
        ),
    ]

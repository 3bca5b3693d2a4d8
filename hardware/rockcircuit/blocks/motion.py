"""The motion sensor; it sits in the box, on four short wires."""

from rockcircuit import kinds, modules
from rockcircuit.model import GND, V33, Part

BLOCK = "motion"


def parts() -> list[Part]:
    """Return the parts of this block."""
    pull_ups = [
        Part(
            ref,
            kinds.RESISTOR,
            "4.7k",
            BLOCK,
            {"1": V33, "2": net},
            role="pull-up of the bus; most sensor modules bring a second one, which does no harm",
        )
        for ref, net in (("R21", "MOTION_SDA"), ("R22", "MOTION_SCL"))
    ]
    return [
        Part(
            "U4",
            modules.MOTION,
            "",
            BLOCK,
            {"VCC": V33, "GND": GND, "SCL": "MOTION_SCL", "SDA": "MOTION_SDA", "AD0": GND},
            unused=frozenset(("XDA", "XCL", "INT")),
            role="only if the hub's turning is to be seen; AD0 to ground: address 0x68",
        ),
        *pull_ups,
    ]

"""All pictures, by the name of their file."""

from functools import cache

from rockcircuit.build import circuit_of
from rockcircuit.pictures import bridge, gauge, motion, panel, power, processor, text_line
from rockcircuit.processors import BOARDS

_SAME_FOR_ALL = {
    "gauge": gauge.draw,
    "text_line": text_line.draw,
    "bridge": bridge.draw,
    "motion": motion.draw,
    "panel": panel.draw,
    "power": power.draw,
}


@cache
def pictures() -> dict[str, bytes]:
    """Return file name → SVG."""
    pico = circuit_of("pico_w")
    drawn = {f"{name}.svg": draw(pico) for name, draw in _SAME_FOR_ALL.items()}
    for board in BOARDS:
        drawn[f"processor_{board}.svg"] = processor.draw(circuit_of(board))
    return drawn

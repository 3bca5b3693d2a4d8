"""What the processor's input sees of the text line: right levels, and wrong plugs.

Sources, from memory: TTL levels 0.4 and 2.4 V at an output; RS-232 up to ±13.2 V from usual
drivers (±15 V allowed); RP2040 and RP2350 inputs bear 0.5 V beyond both ends of their supply.
"""

from dataclasses import dataclass

import numpy as np

from rockcircuit.model import V33, Circuit
from rockcircuit.spice import deck, models, ngspice

SUPPLY_V = 3.3
TTL_LOW_V, TTL_HIGH_V = 0.4, 2.4
WRONG_V = 13.2
MOST_BEYOND_V = 0.5
LOW_V, HIGH_V = 0.8, 2.0  # what the input takes for low and high
TEMPS_C = (-10.0, 25.0, 60.0)


@dataclass(frozen=True, slots=True)
class Levels:
    """What comes out at the processor's pin, the worst of all temperatures.

    Attributes:
        low_v: For the highest low of a TTL output.
        high_v: For its lowest high.
        least_v: For RS-232 put on the wrong socket, at its minus.
        most_v: The same, at its plus.
        most_a: What the line then gives or takes.
    """

    low_v: float
    high_v: float
    least_v: float
    most_v: float
    most_a: float

    def faults(self) -> list[str]:
        """Return what does not hold."""
        rules = (
            (self.low_v < LOW_V, f"a TTL low arrives as {self.low_v:.2f} V"),
            (self.high_v > HIGH_V, f"a TTL high arrives as {self.high_v:.2f} V"),
            (self.least_v > -MOST_BEYOND_V, f"RS-232 pulls the pin to {self.least_v:.2f} V"),
            (
                self.most_v < SUPPLY_V + MOST_BEYOND_V,
                f"RS-232 lifts the pin to {self.most_v:.2f} V",
            ),
        )
        return [f"text line: {fault}" for holds, fault in rules if not holds]


def levels(circuit: Circuit) -> Levels:
    """Sweep the line at J2's RX, JP3 on 1-2, and return the pin's levels."""
    runs = [_sweep(circuit, temp_c) for temp_c in TEMPS_C]
    return Levels(
        low_v=max(_at(run, TTL_LOW_V) for run in runs),
        high_v=min(_at(run, TTL_HIGH_V) for run in runs),
        least_v=min(float(run["v(torque_rx)"].min()) for run in runs),
        most_v=max(float(run["v(torque_rx)"].max()) for run in runs),
        most_a=max(float(np.abs(run["i(vl)"]).max()) for run in runs),
    )


def _sweep(circuit: Circuit, temp_c: float) -> ngspice.Traces:
    parts = deck.around(circuit, ["TEXT_RX_OUT"])
    lines = [
        models.DIODE_MODELS,
        f".temp {temp_c:g}",
        f"V33 {deck.node(V33)} 0 {SUPPLY_V}",
        *deck.elements(parts, frozenset(("JP3",)), {}, temp_c),
        "VL text_rx_out 0 0",
    ]
    sweep = f"dc VL {-WRONG_V} {WRONG_V} 0.05"
    return ngspice.run(lines, sweep, ["v(torque_rx)", "i(vl)"])


def _at(run: ngspice.Traces, line_v: float) -> float:
    return float(np.interp(line_v, run["x"], run["v(torque_rx)"]))

"""How low is low and how high is high, at the plug of the gauge."""

import numpy as np

from rockcircuit.model import Circuit
from rockcircuit.spice import ngspice
from rockcircuit.spice.bench import HIGH_V, LOW_V, Corner, shifters


def input_levels_v(circuit: Circuit, corner: Corner) -> tuple[float, float]:
    """Return (below this the gauge's low is surely seen, above this its high), in volt."""
    lines = shifters(circuit, corner)
    lines += ["VD gauge_data_out 0 0", "VC gauge_clock_out 0 0"]
    traces = ngspice.run(lines, "dc VC 0 1.65 1m", ["v(gauge_clock)"])
    output = traces["v(gauge_clock)"]
    low = traces["x"][np.flatnonzero(output >= HIGH_V)[-1]]
    high = traces["x"][np.flatnonzero(output <= LOW_V)[0]]
    return float(low), float(high)

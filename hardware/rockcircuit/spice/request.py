"""The bench of the request line, and of a gauge whose outputs only pull down.

What such a gauge looks like inside is from memory: a pull-up to its own supply on the request
line, open outputs for data and clock. Resistance and supply are therefore swept over decades.
"""

from dataclasses import dataclass

import numpy as np

from rockcircuit.model import Circuit
from rockcircuit.spice import deck, models, ngspice
from rockcircuit.spice.bench import HIGH_V, LOW_V, Corner, crossings, shifters
from rockcircuit.spice.models import Transistor

_NET = "GAUGE_REQUEST"
_ASK_US, _LET_GO_US, _END_US = 500.0, 1_500.0, 4_000.0
_OUTPUT_OHM = 80.0  # of the processor's output, weakest setting


@dataclass(frozen=True, slots=True)
class Gauge:
    """The far end of the request line.

    Attributes:
        supply_v: What it pulls the line up to.
        pull_up_ohm: With which resistance.
        cable_f: Of the cable.
    """

    supply_v: float
    pull_up_ohm: float
    cable_f: float


@dataclass(frozen=True, slots=True)
class Request:
    """What the gauge sees.

    Attributes:
        asleep: Level before the board has started, as a part of the gauge's supply.
        asked_v: Level while asked.
        fall_us: Until it is below a tenth of the supply.
        rise_us: From letting go until it is above two thirds.
        sunk_a: What the board's transistor takes.
    """

    asleep: float
    asked_v: float
    fall_us: float
    rise_us: float
    sunk_a: float


def ask(circuit: Circuit, gauge: Gauge, temp_c: float, transistor: Transistor) -> Request:
    """Ask once: processor asleep for 500 µs, then high for a millisecond, then low."""
    parts = deck.around(circuit, [_NET])
    names = {part.ref: "QREQUEST" for part in parts if part.kind.symbol == "npn"}
    steps = [(0.0, 0.0), (_ASK_US, 3.3), (_LET_GO_US, 0.0)]
    gate = [(0.0, 0.0), (_ASK_US - 10, 1.0)]
    pin = deck.node(_NET)
    lines = [
        models.DIODE_MODELS,
        models.transistor_model("QREQUEST", transistor),
        ".model GATE SW(VT=0.5 VH=0.1 RON=0.1 ROFF=1e9)",
        f".temp {temp_c:g}",
        *deck.elements(parts, frozenset(), names, temp_c),
        f"VP drive 0 {deck.wave(steps, 0.05)}",
        f"VG gate 0 {deck.wave(gate, 0.05)}",
        f"RP drive output {_OUTPUT_OHM:g}",
        f"SG output {pin} gate 0 GATE",  # before the program starts, the pin is an open input
        f"VS far 0 {gauge.supply_v:g}",
        *deck.cable("far", f"{_NET}_OUT", gauge.pull_up_ohm, gauge.cable_f),
    ]
    line = f"v({deck.node(_NET)}_out_far)"
    traces = ngspice.run(lines, f"tran 0.5u {_END_US}u 0 2u", [line, "i(vs)"])
    return _judge(traces["x"] * 1e6, traces[line], -traces["i(vs)"], gauge.supply_v)


def _judge(t_us: np.ndarray, volt: np.ndarray, sunk_a: np.ndarray, supply_v: float) -> Request:
    def when(at_v: float, level: int, after_us: float) -> float:
        times = [t for t, way in crossings(t_us, volt, at_v) if t > after_us and way == level]
        return times[0] - after_us if times else float("inf")

    def at(t: float, trace: np.ndarray) -> float:
        return float(np.interp(t, t_us, trace))

    return Request(
        asleep=at(_ASK_US - 20, volt) / supply_v,
        asked_v=at(_LET_GO_US - 1, volt),
        fall_us=when(supply_v / 10, 0, _ASK_US),
        rise_us=when(supply_v * 2 / 3, 1, _LET_GO_US),
        sunk_a=at(_LET_GO_US - 1, sunk_a),
    )


def shortest_pulse_us(circuit: Circuit, corner: Corner, output_ohm: float) -> float:
    """Return the shortest low and high that an open output gets through the level shifter.

    The jumpers JP1 and JP2 are in. A pulse counts when it comes out at least half as long.
    """
    for pulse_us in (5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0):
        if _passes(circuit, corner, output_ohm, pulse_us):
            return pulse_us
    return float("inf")


def _passes(circuit: Circuit, corner: Corner, output_ohm: float, pulse_us: float) -> bool:
    lines = shifters(circuit, corner, closed=frozenset(("JP1", "JP2")))
    steps = [(0.0, 0.0)]
    for number in range(8):
        begin_us = 200 + 2 * number * pulse_us
        steps += [(begin_us, 1.0), (begin_us + pulse_us, 0.0)]
    lines += [
        ".model PULL SW(VT=0.5 VH=0.1 RON=1 ROFF=1e8)",
        f"VC close 0 {deck.wave(steps, 0.1)}",
        "SC open 0 close 0 PULL",
        *deck.cable("open", "GAUGE_CLOCK_OUT", output_ohm, corner.cable_f),
        f"RD {deck.node('GAUGE_DATA_OUT')} 0 1e8",
    ]
    end_us = 400 + 16 * pulse_us
    traces = ngspice.run(lines, f"tran 0.1u {end_us}u 0 0.5u", ["v(gauge_clock)"])
    for at_v in (LOW_V, HIGH_V):
        times = [t for t, _ in crossings(traces["x"] * 1e6, traces["v(gauge_clock)"], at_v)]
        widths = np.diff([t for t in times if t > 190])
        if len(widths) != 15 or widths.min() < pulse_us / 2:
            return False
    return True

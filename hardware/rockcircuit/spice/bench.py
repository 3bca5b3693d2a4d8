"""The bench of the level shifters: a recorded word in, the processor's pins out."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rockboard.sources.clocked24 import Clocked24
from rockcircuit.model import V33, Circuit
from rockcircuit.spice import deck, models, ngspice
from rockcircuit.spice.models import Transistor
from rockcircuit.spice.recorded import Word

# A processor's input is low for certain below, high for certain above. RP2040, RP2350 at 3.3 V:
# 0.8 and 2.0 V; ESP32-S3: 0.25 and 0.75 of its supply. Source: data sheets, from memory.
LOW_V, HIGH_V = 0.8, 2.5
_PIN_F = 30e-12  # pin, socket and wire
_SAMPLED_US = 0.1  # the state machine reads the data line that long after the clock's edge
_LINES = ("GAUGE_DATA", "GAUGE_CLOCK")


@dataclass(frozen=True, slots=True)
class Corner:
    """The circumstances of one run.

    Attributes:
        cell_v: Of the gauge's cell.
        temp_c: Of the board.
        data: Transistor of the data line.
        clock: Transistor of the clock line.
        source_ohm: What the gauge's outputs have in series.
        cable_f: Of each line.
        supply_v: The board's 3.3 V.
        pull_up_ohm: The processor's own, which the firmware switches on: 50 to 80 kΩ (RP2040).
    """

    cell_v: float = 1.5
    temp_c: float = 25.0
    data: Transistor = models.LOW
    clock: Transistor = models.LOW
    source_ohm: float = 10e3
    cable_f: float = 150e-12
    supply_v: float = 3.3
    pull_up_ohm: float = 65e3


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one run.

    Attributes:
        readings: (count, unit) as the board's own decoder gives them, one for each combination of
            thresholds.
        low_v: Highest of the settled lows at the processor.
        high_v: Lowest of the settled highs.
        setup_us: From the data line's last move to the clock's edge that reads it, at least.
        pulse_us: Shortest pulse of the clock at the processor.
        delay_us: From an edge at the gauge to the last threshold at the processor, at most.
        gauge_a: Most that an output of the gauge drives once its line has settled.
    """

    readings: tuple[tuple[tuple[int, str], ...], ...]
    low_v: float
    high_v: float
    setup_us: float
    pulse_us: float
    delay_us: float
    gauge_a: float

    def right(self, word: Word) -> bool:
        """Say whether every combination of thresholds gave the word, once, and nothing else."""
        return all(got == ((word.count, word.unit),) for got in self.readings)


def shifters(circuit: Circuit, corner: Corner, closed: frozenset[str] = frozenset()) -> list[str]:
    """Return both level shifters with the processor's pins, without what drives them."""
    parts = deck.around(circuit, [f"{line}_OUT" for line in _LINES])
    names = {}
    for line, name in zip(_LINES, ("QDATA", "QCLOCK"), strict=True):
        for end in circuit.ends(line):
            if end.part.kind.symbol == "npn":
                names[end.part.ref] = name
    lines = [
        models.DIODE_MODELS,
        models.transistor_model("QDATA", corner.data),
        models.transistor_model("QCLOCK", corner.clock),
        f".temp {corner.temp_c:g}",
        f"V33 {deck.node(V33)} 0 {corner.supply_v:g}",
        *deck.elements(parts, closed, names, corner.temp_c),
    ]
    for line in _LINES:
        pin = deck.node(line)
        lines.append(f"RUP_{pin} {deck.node(V33)} {pin} {corner.pull_up_ohm:g}")
        lines.append(f"CIN_{pin} {pin} 0 {_PIN_F:g}")
    return lines


def play(circuit: Circuit, corner: Corner, word: Word) -> Outcome:
    """Play a recorded word into the circuit and let the board's decoder hear what comes out."""
    lines = shifters(circuit, corner)
    for bit, line in enumerate(_LINES):
        steps = [(t_us, level * corner.cell_v) for t_us, level in word.line(bit)]
        lines.append(f"VS{bit} s{bit} 0 {deck.wave(steps)}")
        lines += deck.cable(f"s{bit}", f"{line}_OUT", corner.source_ohm, corner.cable_f)
    end_us = word.end_us + 1_000
    outputs = ["v(gauge_data)", "v(gauge_clock)", "i(vs0)", "i(vs1)"]
    traces = ngspice.run(lines, f"tran 1u {end_us}u 0 2u", outputs)
    return _judge(traces, word)


def _judge(traces: ngspice.Traces, word: Word) -> Outcome:
    t_us = traces["x"] * 1e6
    data, clock = traces["v(gauge_data)"], traces["v(gauge_clock)"]
    readings, setups, pulses = [], [], []
    for data_v in (LOW_V, HIGH_V):
        for clock_v in (LOW_V, HIGH_V):
            edges = crossings(t_us, clock, clock_v)
            moves = np.array([0.0, *(at for at, _ in crossings(t_us, data, data_v))])
            readings.append(decoded(edges, t_us, data, data_v))
            # The level shifter turns round: the gauge's rise is a fall here.
            reads = [at for at, level in edges if not level]
            setups += [at - moves[moves < at + _SAMPLED_US].max() for at in reads]
            pulses += [b - a for (a, _), (b, _) in pairwise(edges)]
    low_v, high_v = _settled(t_us, data, clock, word)
    return Outcome(
        tuple(readings),
        low_v,
        high_v,
        min(setups, default=0.0),
        min(pulses, default=0.0),
        _delay_us(t_us, (data, clock), word),
        _driven_a(traces, word),
    )


def crossings(t_us: np.ndarray, volt: np.ndarray, at_v: float) -> list[tuple[float, int]]:
    """Return (µs, level after it) wherever a voltage crosses a threshold."""
    above = volt > at_v
    places = np.flatnonzero(above[1:] != above[:-1])
    part = (at_v - volt[places]) / (volt[places + 1] - volt[places])
    times = t_us[places] + part * (t_us[places + 1] - t_us[places])
    return [(float(at), int(above[p + 1])) for at, p in zip(times, places, strict=True)]


class Ear:
    """Takes what the decoder says."""

    def __init__(self) -> None:
        self.said: list[tuple[int, str]] = []

    def reading(self, t_us: int, count: int, scale: tuple[int, int, int]) -> None:
        self.said.append((count, "in" if scale[1] == 5 else "mm"))

    def event(self, code: int, t_us: int, value: int) -> None:
        self.said.append((code, "event"))


def decoded(
    edges: list[tuple[float, int]], t_us: np.ndarray, data: np.ndarray, data_v: float
) -> tuple[tuple[int, str], ...]:
    """Return what the board's decoder makes of the clock's edges and the data line."""
    ear = Ear()
    source = Clocked24(ear)
    for at, level in edges:
        heard = np.interp(at + _SAMPLED_US, t_us, data) > data_v
        source.edge(1 - level, 1 - int(heard), round(at))
    source.poll(round(float(t_us[-1])) + 10_000)
    return tuple(ear.said)


def _settled(
    t_us: np.ndarray, data: np.ndarray, clock: np.ndarray, word: Word
) -> tuple[float, float]:
    """Return (highest low, lowest high) a moment before each change at the gauge."""
    lows: list[float] = []
    highs: list[float] = []
    for bit, volt in ((0, data), (1, clock)):
        changes = word.line(bit)
        for (_, level), (next_us, following) in pairwise(changes):
            if level != following:
                (lows if level else highs).append(float(np.interp(next_us - 0.5, t_us, volt)))
    return max(lows), min(highs)


def _driven_a(traces: ngspice.Traces, word: Word) -> float:
    times = np.array([at - 0.5 for at, _ in word.changes[1:]]) * 1e-6
    return max(
        float(np.abs(np.interp(times, traces["x"], traces[f"i(vs{bit})"])).max()) for bit in (0, 1)
    )


def _delay_us(t_us: np.ndarray, volts: tuple[np.ndarray, np.ndarray], word: Word) -> float:
    worst = 0.0
    for bit, volt in enumerate(volts):
        changes = word.line(bit)
        for (_, before), (at_us, level) in pairwise(changes):
            if before == level:
                continue
            last_v = LOW_V if level else HIGH_V
            after = [at for at, way in crossings(t_us, volt, last_v) if at > at_us and way != level]
            worst = max(worst, after[0] - at_us if after else np.inf)
    return worst

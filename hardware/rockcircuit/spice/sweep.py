"""Every corner, what must hold in each, and the figures that come out."""

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import product

from rockcircuit.build import circuit_of
from rockcircuit.spice import bench, models, recorded, request, thresholds
from rockcircuit.spice.bench import Corner, Outcome
from rockcircuit.spice.request import Gauge, Request

# What must hold in every corner, and why.
MOST_LOW_V = 0.4  # half of what an input still calls low
LEAST_HIGH_V = 2.8  # 0.3 V above what every input calls high
LEAST_SETUP_US = 5.0  # the chip needs 0.1; the rest is for what nobody thought of
LEAST_PULSE_US = 20.0  # the decoder calls less than 15 µs a spike
MOST_INPUT_LOW_V, LEAST_INPUT_HIGH_V = 0.40, 1.10  # of a gauge at 1.25 V
MOST_ASKED_V = 0.25
LEAST_ASLEEP = 0.75  # an input of CMOS calls more than 0.7 of its supply high

CELLS_V = (1.25, 1.5, 1.65)
TEMPS_C = (-10.0, 25.0, 60.0)
SOURCES_OHM = (1e3, 10e3, 50e3)
CABLES_F = (50e-12, 300e-12)  # 0.3 m and 2 m; about 150 pF a metre is common practice, no source
SUPPLIES = ((3.2, 80e3), (3.4, 50e3))  # volt and the pin's own pull-up, at their ends
SPREADS = tuple(product((models.LOW, models.HIGH), repeat=2))


@dataclass(frozen=True, slots=True)
class Figures:
    """The worst of all corners."""

    corners: int
    outcome: Outcome
    faults: tuple[str, ...]


def corners() -> list[Corner]:
    """Return all corners of the level shifters."""
    grid = product(CELLS_V, TEMPS_C, SPREADS, SOURCES_OHM, CABLES_F, SUPPLIES)
    return [
        Corner(cell_v, temp_c, data, clock, source_ohm, cable_f, supply_v, pull_up_ohm)
        for cell_v, temp_c, (data, clock), source_ohm, cable_f, (supply_v, pull_up_ohm) in grid
    ]


def hardest() -> list[Corner]:
    """Return the corners that come out worst; a quick run looks at these only."""
    weak = Corner(1.25, -10, models.LOW, models.LOW, 50e3, 300e-12, 3.4, 50e3)
    mixed = Corner(1.65, 60, models.HIGH, models.LOW, 50e3, 300e-12, 3.2, 80e3)
    return [weak, mixed, replace(weak, data=models.HIGH), replace(mixed, clock=models.HIGH)]


def _play(job: tuple[Corner, str]) -> Outcome:
    corner, name = job
    word = next(word for word in recorded.words() if word.name == name)
    return bench.play(circuit_of("pico_w"), corner, word)


def shifters(jobs: list[tuple[Corner, str]], workers: int = 2) -> Figures:
    """Run corners with words, named by their recording, and gather the worst figures."""
    words = {word.name: word for word in recorded.words()}
    with ProcessPoolExecutor(workers) as pool:
        outcomes = list(pool.map(_play, jobs, chunksize=4))
    faults = [
        f"{name} at {corner}: {fault}"
        for (corner, name), outcome in zip(jobs, outcomes, strict=True)
        for fault in shifter_faults(outcome, outcome.right(words[name]))
    ]
    worst = Outcome(
        (),
        max(one.low_v for one in outcomes),
        min(one.high_v for one in outcomes),
        min(one.setup_us for one in outcomes),
        min(one.pulse_us for one in outcomes),
        max(one.delay_us for one in outcomes),
        max(one.gauge_a for one in outcomes),
    )
    return Figures(len(jobs), worst, tuple(faults))


def shifter_faults(outcome: Outcome, right: bool) -> Iterator[str]:
    """Yield what does not hold."""
    if not right:
        yield f"the board's decoder heard {outcome.readings}"
    if outcome.low_v > MOST_LOW_V:
        yield f"a low stays at {outcome.low_v:.2f} V"
    if outcome.high_v < LEAST_HIGH_V:
        yield f"a high reaches {outcome.high_v:.2f} V only"
    if outcome.setup_us < LEAST_SETUP_US:
        yield f"data moves {outcome.setup_us:.1f} µs before it is read"
    if outcome.pulse_us < LEAST_PULSE_US:
        yield f"a pulse of the clock shrinks to {outcome.pulse_us:.1f} µs"


def input_levels() -> tuple[float, float, list[str]]:
    """Return (least low, most high) at the plug over temperature, spread and supply, and faults."""
    circuit = circuit_of("pico_w")
    levels = [
        thresholds.input_levels_v(
            circuit,
            Corner(temp_c=temp_c, clock=spread, supply_v=supply_v, pull_up_ohm=pull_up_ohm),
        )
        for temp_c, spread, (supply_v, pull_up_ohm) in product(
            TEMPS_C, (models.LOW, models.HIGH), SUPPLIES
        )
    ]
    low_v, high_v = min(low for low, _ in levels), max(high for _, high in levels)
    faults = []
    if low_v < MOST_INPUT_LOW_V:
        faults.append(f"a gauge's low must be below {low_v:.2f} V; {MOST_INPUT_LOW_V} V were asked")
    if high_v > LEAST_INPUT_HIGH_V:
        faults.append(f"a gauge's high must reach {high_v:.2f} V; {LEAST_INPUT_HIGH_V} V are there")
    return low_v, high_v, faults


def requests() -> tuple[list[tuple[Gauge, Request]], list[str]]:
    """Return the worst of the request line for each kind of gauge, and faults."""
    circuit = circuit_of("pico_w")
    rows, faults = [], []
    for supply_v, pull_up_ohm, cable_f in product((1.25, 3.2), (10e3, 100e3, 1e6), CABLES_F):
        gauge = Gauge(supply_v, pull_up_ohm, cable_f)
        got = [
            request.ask(circuit, gauge, temp_c, spread)
            for temp_c, spread in product((-10.0, 60.0), (models.LOW, models.HIGH))
        ]
        worst = Request(
            min(one.asleep for one in got),
            max(one.asked_v for one in got),
            max(one.fall_us for one in got),
            max(one.rise_us for one in got),
            max(one.sunk_a for one in got),
        )
        rows.append((gauge, worst))
        if worst.asked_v > MOST_ASKED_V:
            faults.append(f"{gauge}: asked, the line stays at {worst.asked_v:.2f} V")
        if worst.asleep < LEAST_ASLEEP:
            faults.append(f"{gauge}: asleep, the line is at {worst.asleep:.0%} of the supply")
    return rows, faults


def limits() -> dict[str, float]:
    """Return how far the level shifter goes beyond what was asked, in steps of about a quarter."""
    short = [replace(corner, cable_f=50e-12) for corner in hardest()]
    usual = [replace(corner, source_ohm=10e3) for corner in hardest()]
    return {
        "source_ohm": _last(short, "source_ohm", (50e3, 60e3, 80e3, 100e3, 130e3, 160e3)),
        "cable_f": _last(usual, "cable_f", (300e-12, 500e-12, 700e-12, 1e-9, 1.3e-9, 1.6e-9)),
        "cell_v": _last(usual, "cell_v", (1.25, 1.2, 1.15, 1.1, 1.05, 1.0, 0.95)),
    }


def _last(starts: list[Corner], name: str, values: tuple[float, ...]) -> float:
    """Return the last value of a rising or falling row with which all corners still pass."""
    circuit, word = circuit_of("pico_w"), recorded.words()[1]
    good = 0.0
    for value in values:
        for start in starts:
            corner = replace(start, **{name: value})  # type: ignore[arg-type]
            outcome = bench.play(circuit, corner, word)
            if list(shifter_faults(outcome, outcome.right(word))):
                return good
        good = value
    return good


def open_outputs() -> list[tuple[float, float]]:
    """Return (resistance of the gauge's open output, shortest pulse in µs that gets through)."""
    circuit = circuit_of("pico_w")
    return [
        (
            output_ohm,
            max(request.shortest_pulse_us(circuit, corner, output_ohm) for corner in hardest()),
        )
        for output_ohm in (100.0, 1e3, 10e3)
    ]

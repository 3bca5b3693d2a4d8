"""How long a cell lasts: currents, shares of time, and where each number is from."""

from dataclasses import dataclass

from rockboard.signals import SIGNALS
from rockcircuit.model import Circuit
from rockcircuit.values import number_of
from rockwire import guide

CELL_MAH = 1_000.0
USABLE = 0.8  # cold, age, and the last of it below 3.3 V; estimate
CELL_V, DIODE_V, SUPPLY_V = 3.7, 0.3, 3.3
EFFICIENCY = 0.85  # of the processor board's own converter, from memory of its part's curves
JOB_S, HOLDS = 40.0, 6  # one recording: three cycles, estimate
_MEASURE = "estimate: **measure this**"


@dataclass(frozen=True, slots=True)
class Load:
    """Something that takes current from 3.3 V.

    Attributes:
        name: What it is.
        current_ma: While it works.
        ready: Share of the time while the board waits.
        recording: Share of the time while it records.
        option: "" for what every board has.
        origin: Where the current is from.
    """

    name: str
    current_ma: float
    ready: float
    recording: float
    option: str
    origin: str


def loads(circuit: Circuit) -> list[Load]:
    """Return what a board takes, from its parts' values and the firmware's table of signals."""
    lamp_ma = (SUPPLY_V - 2.1) / number_of(circuit.part("R24").value) * 1e3
    pull_ohm = 1 / (1 / number_of(circuit.part("R4").value) + 1 / 65e3)
    return [
        Load("processor with its program", 25.0, 1, 1, "", _MEASURE),
        Load("radio, searched for or connected", 20.0, 1, 1, "", _MEASURE),
        Load(
            "gauge lines at rest",
            2 * SUPPLY_V / pull_ohm * 1e3,
            1,
            1,
            "",
            "R4, R9 and the pins' own pull-ups",
        ),
        Load(
            "green lamp",
            lamp_ma,
            _share(SIGNALS[guide.READY].green),
            _share(SIGNALS[guide.ROCKING].green),
            "",
            "R24; shares from the firmware's table",
        ),
        Load("beeper", SUPPLY_V / 42 / 2 * 1e3, 0, _beeping(), "", "42 Ω, half of each period"),
        Load("motion sensor", 4.0, 1, 1, "motion", "data sheet, from memory"),
        Load("bridge converter", 1.5, 1, 1, "bridge", "data sheet, from memory"),
        Load("bridge of 350 Ω", 3.1 / 350 * 1e3, 1, 1, "bridge", "Ohm, at 3.1 V"),
        Load("RS-232 converter", 1.0, 1, 1, "RS-232", "data sheet, from memory"),
    ]


def _often(share: float) -> str:
    """Return in words which share of the time it is."""
    if share in (0, 1):
        return "always" if share else "never"
    return f"{share:.0%} of the time"


def _share(pattern: tuple[int, ...]) -> float:
    return sum(pattern[::2]) / sum(pattern)


def _beeping() -> float:
    """Return the beeper's share of a job: a beep for each hold, and the last ones."""
    held, done = SIGNALS[guide.HELD].beeps, SIGNALS[guide.DONE].beeps
    sounding_ms = float((HOLDS - 1) * sum(held[::2]) + sum(done[::2]))
    return sounding_ms / 1e3 / JOB_S


def from_cell_ma(rows: list[Load], recording: bool, options: frozenset[str]) -> float:
    """Return what the cell gives, through diode and converter, with its divider."""
    current_ma = sum(
        row.current_ma * (row.recording if recording else row.ready)
        for row in rows
        if not row.option or row.option in options
    )
    divider_ma = CELL_V / 200e3 * 1e3
    return current_ma * SUPPLY_V / ((CELL_V - DIODE_V) * EFFICIENCY) + divider_ma


def hours(cell_ma: float) -> float:
    """Return how long a full cell lasts."""
    return CELL_MAH * USABLE / cell_ma


def page(circuit: Circuit) -> str:
    """Return the budget as Markdown."""
    rows = loads(circuit)
    lines = [
        "# How long the cell lasts",
        "",
        "Made by `make hardware`. The first two numbers are estimates and make nearly all of the",
        "sum: put a meter into the cell's wire, and write what it shows into",
        "[battery.py](rockcircuit/battery.py).",
        "",
        "| what takes current | mA, while it does | while the board waits | while it records "
        "| only with | where the number is from |",
        "|---|---|---|---|---|---|",
    ]
    for row in rows:
        lines.append(
            f"| {row.name} | {row.current_ma:.1f} | {_often(row.ready)} | {_often(row.recording)} "
            f"| {row.option} | {row.origin} |"
        )
    lines += [
        "",
        f"Currents are at 3.3 V. Reckoned with a cell of {CELL_MAH:.0f} mAh and {CELL_V} V, of "
        f"which {USABLE:.0%} can be",
        f"used (cold, age, the rest below 3.3 V), {DIODE_V} V lost in D15, and a converter that "
        f"passes on {EFFICIENCY:.0%}:",
        "",
        "| built in | a full cell lasts, waiting | recording all the time |",
        "|---|---|---|",
    ]
    for options in ((), ("motion",), ("motion", "bridge")):
        cells = []
        for recording in (False, True):
            cell_ma = from_cell_ma(rows, recording, frozenset(options))
            cells.append(f"{hours(cell_ma):.0f} h ({cell_ma:.0f} mA)")
        lines.append(f"| {' and '.join(('indicator', *options))} | {cells[0]} | {cells[1]} |")
    return "\n".join(lines) + "\n"

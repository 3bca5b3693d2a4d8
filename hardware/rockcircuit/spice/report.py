"""The simulation's figures as a page, and a picture of the edges."""

import io

import matplotlib
import numpy as np

from rockcircuit.build import circuit_of
from rockcircuit.spice import bench, deck, ngspice, recorded, sweep, text_line
from rockcircuit.spice.request import Gauge, Request

matplotlib.use("agg")
from matplotlib import pyplot as plt


def page() -> tuple[str, list[str]]:
    """Run everything; return the page and the faults."""
    names = [word.name for word in recorded.words()]
    least = min(word.least_setup_us for word in recorded.words())
    grid = sweep.shifters([(corner, names[1]) for corner in sweep.corners()])
    words = sweep.shifters([(corner, name) for corner in sweep.hardest() for name in names])
    low_v, high_v, faults = sweep.input_levels()
    rows, more = sweep.requests()
    line = text_line.levels(circuit_of("pico_w"))
    text = "\n".join(
        [
            _HEAD,
            _shifters(grid, words, least),
            _levels(low_v, high_v),
            _limits(),
            _requests(rows),
            _open(),
            _text_line(line),
        ]
    )
    return text, [*grid.faults, *words.faults, *faults, *more, *line.faults()]


_HEAD = """# Simulation

Written by `make hardware`: ngspice, with decks made from the circuit's own netlist. The parts'
models are ours, set from limits of public data sheets (from memory;
[models.py](rockcircuit/spice/models.py) names them). A real gauge's source resistance, levels and
pull-ups were never measured here: **measure this** on yours (the guide says how).
"""


def _shifters(grid: sweep.Figures, words: sweep.Figures, least_us: int) -> str:
    one, two = grid.outcome, words.outcome
    return f"""## Level shifters

A word recorded from a real gauge goes in, with its own timing; what comes out at the processor's
pins is decoded by the board's own program, for both ends of the pins' thresholds (0.8 V and 2.5 V).
{grid.corners} corners with one word: gauge's cell 1.25, 1.5, 1.65 V; −10, 25, 60 °C; gain 420 and
800, base-emitter voltage 0.58 and 0.70 V, in each mixture of both lines; source resistance 1, 10,
50 kΩ; cable 50 and 300 pF; supply 3.2 and 3.4 V with a pull-up of 80 and 50 kΩ in the pin. Then all
seven recorded words in the {words.corners // 7} hardest of them. A wrong word anywhere is a fault.

| worst of all | {grid.corners} corners | all words | must be |
|---|---|---|---|
| low at the processor | {one.low_v:.2f} V | {two.low_v:.2f} V | at most {sweep.MOST_LOW_V} V |
| high at the processor | {one.high_v:.2f} V | {two.high_v:.2f} V | at least {
        sweep.LEAST_HIGH_V
    } V |
| data at rest before it is read | {one.setup_us:.1f} µs | {two.setup_us:.1f} µs | at least {
        sweep.LEAST_SETUP_US
    } µs; the gauge gives {least_us} µs |
| shortest pulse of the clock | {one.pulse_us:.1f} µs | {two.pulse_us:.1f} µs | at least {
        sweep.LEAST_PULSE_US
    } µs |
| from the gauge's edge to the pin's | {one.delay_us:.1f} µs | {two.delay_us:.1f} µs | – |
| an output of the gauge drives | {one.gauge_a * 1e6:.0f} µA | {two.gauge_a * 1e6:.0f} µA | – |

![A few bits at the hardest corner](pictures/edges.png)
"""


def _levels(low_v: float, high_v: float) -> str:
    return f"""At the plug, over temperature, spread and supply: a low is surely seen below
**{low_v:.2f} V**, a high above **{high_v:.2f} V**. A gauge on a cell of 1.25 V whose lines reach
within 0.15 V of both its rails has {low_v - 0.15:.2f} V and {1.10 - high_v:.2f} V to spare.
"""


def _limits() -> str:
    found = sweep.limits()
    kilohm, picofarad = found["source_ohm"] / 1e3, found["cable_f"] * 1e12
    return f"""How far it goes before one of these no longer holds: source resistance
{kilohm:.0f} kΩ with a short cable (50 pF), a cable of {picofarad:.0f} pF at 10 kΩ, and a gauge's
cell of {found["cell_v"]:.2f} V at 10 kΩ with 300 pF.
"""


def _requests(rows: list[tuple[Gauge, Request]]) -> str:
    lines = [
        "## Request line",
        "",
        "The gauge's pull-up and supply are guesses over decades; −10 and 60 °C, both spreads.",
        "Asleep: before the board's program has started. That a low asks is from memory: **measure",
        "this**.",
        "",
        "| gauge pulls up to | with | cable | asleep | asked | falls in | rises in | sinks |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for gauge, got in rows:
        lines.append(
            f"| {gauge.supply_v} V | {gauge.pull_up_ohm / 1e3:.0f} kΩ "
            f"| {gauge.cable_f * 1e12:.0f} pF | {got.asleep:.0%} | {got.asked_v * 1e3:.0f} mV "
            f"| {got.fall_us:.1f} µs | {got.rise_us:.0f} µs | {got.sunk_a * 1e6:.0f} µA |"
        )
    return "\n".join(lines) + "\n"


def _open() -> str:
    lines = [
        "## Outputs that only pull down (JP1 and JP2 in)",
        "",
        "The shortest pulse that comes out at least half as long, in the hardest corners:",
        "",
        "| the gauge pulls down with | shortest pulse |",
        "|---|---|",
    ]
    for ohm, pulse_us in sweep.open_outputs():
        shown = f"{pulse_us:.0f} µs" if np.isfinite(pulse_us) else "none up to 100 µs"
        lines.append(f"| {ohm / 1e3:g} kΩ | {shown} |")
    lines += [
        "",
        "With 10 kΩ a low does not come below what the level shifter takes for low. How long such",
        "a gauge's pulses are, nobody measured here: **measure this**. If they are shorter, this",
        "level shifter is too slow for it.",
    ]
    return "\n".join(lines) + "\n"


def _text_line(got: text_line.Levels) -> str:
    most_v = text_line.SUPPLY_V + text_line.MOST_BEYOND_V
    return f"""## Text line

At the processor's pin, −10 to 60 °C, diodes at their data sheet's most:

| at J2's RX | at the pin | must be |
|---|---|---|
| a TTL low, {text_line.TTL_LOW_V} V | {got.low_v:.2f} V | below {text_line.LOW_V} V |
| a TTL high, {text_line.TTL_HIGH_V} V | {got.high_v:.2f} V | above {text_line.HIGH_V} V |
| RS-232 by mistake, −{text_line.WRONG_V} V | {got.least_v:.2f} V | above −0.5 V |
| RS-232 by mistake, +{text_line.WRONG_V} V | {got.most_v:.2f} V | below {most_v:.1f} V |

By mistake the line then gives or takes {got.most_a * 1e3:.1f} mA. These limits are those of
RP2040 and RP2350; an ESP32-S3 bears only 0.3 V beyond its supply (from memory): do not count on it
there.
"""


def picture() -> bytes:
    """Return a PNG of a few bits at the plug and at the processor, at the hardest corner."""
    corner, word = sweep.hardest()[0], recorded.words()[1]
    lines = bench.shifters(circuit_of("pico_w"), corner)
    for bit, line in enumerate(("GAUGE_DATA", "GAUGE_CLOCK")):
        steps = [(t_us, level * corner.cell_v) for t_us, level in word.line(bit)]
        lines.append(f"VS{bit} s{bit} 0 {deck.wave(steps)}")
        lines += deck.cable(f"s{bit}", f"{line}_OUT", corner.source_ohm, corner.cable_f)
    nodes = ["gauge_data_out", "gauge_data", "gauge_clock_out", "gauge_clock"]
    traces = ngspice.run(lines, "tran 1u 2200u 0 2u", [f"v({name})" for name in nodes])
    figure, axes = plt.subplots(2, 1, figsize=(8, 4.5), sharex=True, layout="constrained")
    for axis, line in zip(axes, ("data", "clock"), strict=True):
        axis.plot(traces["x"] * 1e6, traces[f"v(gauge_{line}_out)"], label="at the plug")
        axis.plot(traces["x"] * 1e6, traces[f"v(gauge_{line})"], label="at the processor")
        for level_v in (bench.LOW_V, bench.HIGH_V):
            axis.axhline(level_v, color="grey", linestyle=":", linewidth=1)
        axis.set_ylabel(f"{line} / V")
    axes[0].legend(loc="upper right", fontsize=8)
    axes[1].set_xlabel("time / µs")
    axes[1].set_xlim(950, 2100)
    axes[0].set_title(
        f"cell {corner.cell_v} V, {corner.temp_c:.0f} °C, {corner.source_ohm / 1e3:.0f} kΩ, "
        f"{corner.cable_f * 1e12:.0f} pF; dotted: what every input takes for low and high",
        fontsize=9,
    )
    file = io.BytesIO()
    figure.savefig(file, format="png", dpi=90, metadata={"Software": None})
    plt.close(figure)
    return file.getvalue()

"""Write known_jobs.npz and known_results.json anew; only together with a new METHOD.

    PYTHONPATH=tests .venv/bin/python tests/host/evidence/make_known_results.py

The readings are kept once they are there, whatever becomes of the simulator that made them: add a
job to JOBS for what a new method shall be known by, and take none away.
"""

import json
from pathlib import Path

import numpy as np

from host.measure.jobs import ALL, LIMITS
from rockhold.evidence.compare import _WORDS
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.simulator.draw import draw_scenario
from rockhold.simulator.scenario import MISFORTUNES
from rockhold.simulator.simulate import simulate

FOLDER = Path(__file__).parent
READINGS, RESULTS = FOLDER / "known_jobs.npz", FOLDER / "known_results.json"
CERTIFIED = GaugeFacts(mpe_mm=0.003)
KINDS = [(gauge, misfortune) for gauge in ALL for misfortune in ("", *MISFORTUNES)]
JOBS = [
    (f"{gauge} / {misfortune or 'good'}", gauge, misfortune, seed)
    for seed, (gauge, misfortune) in enumerate(KINDS, start=7000)
]


def traces() -> dict[str, Trace]:
    """Return the frozen readings by the names of their jobs."""
    with np.load(READINGS) as held:
        return {
            name: Trace(
                np.cumsum(held[f"{name} t"], dtype=np.int64),
                np.cumsum(held[f"{name} n"], dtype=np.int64),
                tuple(UnitSpan(*span) for span in json.loads(str(held[f"{name} spans"]))),
            )
            for name in sorted({key.rsplit(" ", 1)[0] for key in held.files})
        }


def result_of(trace: Trace) -> dict[str, object]:
    """Return what a trace gives today, as it goes into a capture."""
    return measure_trace(trace, LIMITS, CERTIFIED).to_json()


def _plain(value: object) -> object:
    """Return a value without the words that may change."""
    if isinstance(value, dict):
        return {name: _plain(part) for name, part in value.items() if name not in _WORDS}
    return [_plain(part) for part in value] if isinstance(value, list) else value


def main() -> None:
    """Draw the jobs that are not there, and write what all of them give."""
    arrays: dict[str, object] = {}
    if READINGS.exists():
        with np.load(READINGS) as held:
            arrays |= {key: held[key] for key in held.files}
    for name, gauge, misfortune, seed in JOBS:
        if f"{name} t" in arrays:
            continue
        trace, _ = simulate(draw_scenario(gauge, seed, misfortune), seed)
        arrays[f"{name} t"] = np.diff(trace.t_us, prepend=0).astype(np.int32)
        arrays[f"{name} n"] = np.diff(trace.count, prepend=0).astype(np.int32)
        spans = [[span.first, span.unit, span.step_mm] for span in trace.spans]
        arrays[f"{name} spans"] = np.array(json.dumps(spans))
    np.savez_compressed(READINGS, **arrays)
    rows = {name: _plain(result_of(trace)) for name, trace in traces().items()}
    lines = [f"{json.dumps(name)}: {json.dumps(row)}" for name, row in rows.items()]
    RESULTS.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()

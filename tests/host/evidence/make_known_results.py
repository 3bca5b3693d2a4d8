"""Write known_jobs.npz and known_results.json anew; only together with a new METHOD.

    PYTHONPATH=tests .venv/bin/python tests/host/evidence/make_known_results.py

The readings are kept once they are there, whatever becomes of the simulator that made them: add a
job to JOBS for what a new method shall be known by, and take none away.
"""

import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from host.measure.jobs import ALL, LIMITS, with_sensor
from rockhold.evidence.compare import _WORDS
from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.simulator.scenario import MISFORTUNES

FOLDER = Path(__file__).parent
READINGS, RESULTS = FOLDER / "known_jobs.npz", FOLDER / "known_results.json"
CERTIFIED = GaugeFacts(mpe_mm=0.003)
KINDS = [(gauge, misfortune) for gauge in ALL for misfortune in ("", *MISFORTUNES)]
JOBS = [
    (f"{gauge} / {misfortune or 'good'}", gauge, misfortune, seed)
    for seed, (gauge, misfortune) in enumerate(KINDS, start=7000)
]
SEEN = [(gauge, misfortune) for gauge in ALL for misfortune in ("", "no_hold", "short_hold")]
JOBS_SEEN = [
    (f"{gauge} / {misfortune or 'good'}, motion sensor", gauge, misfortune, seed)
    for seed, (gauge, misfortune) in enumerate(SEEN, start=7100)
]
DEG_S = 0.01  # one count of the sensor's rates, as on the wire


def traces() -> dict[str, tuple[Trace, Turning | None]]:
    """Return the frozen readings by the names of their jobs, and what a motion sensor saw."""
    with np.load(READINGS) as held:
        return {
            name: (
                Trace(
                    np.cumsum(held[f"{name} t"], dtype=np.int64),
                    np.cumsum(held[f"{name} n"], dtype=np.int64),
                    tuple(UnitSpan(*span) for span in json.loads(str(held[f"{name} spans"]))),
                ),
                _turning(held, name),
            )
            for name in sorted({key.rsplit(" ", 1)[0] for key in held.files})
        }


def _turning(held: Mapping[str, np.ndarray], name: str) -> Turning | None:
    if f"{name} turned_t" not in held:
        return None
    t_us = np.cumsum(held[f"{name} turned_t"], dtype=np.int64)
    return Turning.of(t_us, DEG_S * np.cumsum(held[f"{name} turned_n"], dtype=np.int64))


def result_of(trace: Trace, turning: Turning | None) -> dict[str, object]:
    """Return what a trace gives today, as it goes into a capture."""
    return measure_trace(trace, LIMITS, CERTIFIED, turning).to_json()


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
    for name, gauge, misfortune, seed in JOBS + JOBS_SEEN:
        if f"{name} t" in arrays:
            continue
        trace, turning, _ = with_sensor(gauge, seed, misfortune)
        if name not in {job[0] for job in JOBS}:
            t_us = np.round(turning.t_s * 1e6).astype(np.int64)
            shown = np.rint((turning.rate_deg_s + turning.bias_deg_s) / DEG_S).astype(np.int64)
            arrays[f"{name} turned_t"] = np.diff(t_us, prepend=0).astype(np.int32)
            arrays[f"{name} turned_n"] = np.diff(shown, prepend=0).astype(np.int32)
        arrays[f"{name} t"] = np.diff(trace.t_us, prepend=0).astype(np.int32)
        arrays[f"{name} n"] = np.diff(trace.count, prepend=0).astype(np.int32)
        spans = [[span.first, span.unit, span.step_mm] for span in trace.spans]
        arrays[f"{name} spans"] = np.array(json.dumps(spans))
    np.savez_compressed(READINGS, **arrays)
    rows = {name: _plain(result_of(*job)) for name, job in traces().items()}
    lines = [f"{json.dumps(name)}: {json.dumps(row)}" for name, row in rows.items()]
    RESULTS.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()

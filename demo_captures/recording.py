"""Recording the captures of the invented fleet, through the real board program in MicroPython."""

import contextlib
import io
import json
import threading
from dataclasses import replace
from pathlib import Path

from people import MILLER, STRANGER

from rockhold.demo.job import PROCEDURE, demo_job
from rockhold.demo.run import carried_out
from rockhold.errors import LinkLostError
from rockhold.links.serial_port import SerialLink
from rockhold.measure.limits import OUT_SIGN
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import procedure_text
from rockhold.procedure.load import load_procedure
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.gaugebench import GaugeBench
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.scenario import Gauge, Misfortune, Scenario, WheelEnd
from rockhold.simulator.simulate import simulate_motion
from rockhold.simulator.unix_board import UnixBoard
from rockhold.simulator.wires import (
    INDICATOR_SOURCE,
    MOTION_SOURCE,
    gauge_records,
    motion_records,
)

SPEED = 20.0
STEPS_MM = {"in": 0.0005 * MM_PER_INCH, "mm": 0.01}


def scenario_of(entry: dict) -> Scenario:
    """Return what is simulated for an entry of the fleet."""
    unit = entry.get("unit", "in")
    kind = entry.get("misfortune")
    end_play_mm = entry.get("end_play_in", 0.003) * MM_PER_INCH
    return Scenario(
        wheel_end=WheelEnd(
            end_play_mm=end_play_mm,
            runout_mm=entry.get("runout_mm", 0.05),
            give_mm=0.003,
            out_sign=OUT_SIGN[mount_of(entry)],
        ),
        gauge=Gauge(unit=unit, step_mm=STEPS_MM[unit], rate_hz=13.9, jitter=0.004, lag_s=0.05),
        misfortunes=(Misfortune(kind),) if kind else (),
    )


def mount_of(entry: dict) -> str:
    """Return where the base sits: a motion sensor must turn with the wheel."""
    return "hub" if entry.get("sensor") else "spindle"


class LooseCable:
    """A link that breaks after some bytes, again and again."""

    def __init__(self, device: str, left: int) -> None:
        self._link = SerialLink(device)
        self.name = self._link.name
        self._left = left
        self.guard, self.write, self.close = self._link.guard, self._link.write, self._link.close

    def read(self, wait_s: float) -> bytes:
        """Return what has come until the cable is out."""
        data = self._link.read(wait_s)
        self._left -= len(data)
        if self._left < 0:
            raise LinkLostError("the cable is out")
        return data


def record_one(entry: dict, path: Path, secret: Path) -> None:
    """Record an entry; the capture is left without result and seal."""
    trace, _, motion = simulate_motion(scenario_of(entry), entry["seed"])
    instruments = [gauge_records(trace)]
    flash = None
    if entry.get("sensor"):
        instruments.append(motion_records(hub_motion(motion, entry["seed"])))
        flash = path.parent / "flash"
        flash.mkdir(exist_ok=True)
        sources = {"sources": [INDICATOR_SOURCE, MOTION_SOURCE]}
        (flash / "settings.json").write_text(json.dumps(sources), encoding="utf-8")
    who = STRANGER if entry.get("deed") == "stranger" else MILLER
    job = Job(
        technician=who.name,
        procedure_name="end play",
        procedure_text=procedure_text(),
        vehicle={"number": entry["vehicle"], "note": "invented"},
        wheel_end={"position": entry["wheel_end"]},
        mount=mount_of(entry),
        tools=({"kind": "indicator", "name": "simulated 24-bit gauge", "mpe_mm": 0.01},),
    )
    begin = threading.Event()
    stored = 0

    def watch(message: tuple[object, ...]) -> None:
        nonlocal stored
        stored += 1
        begin.set()
        if stored == 60 and entry.get("deed") in ("cut", "recover"):
            board.close()

    def plug() -> LooseCable | SerialLink:
        if entry.get("deed") == "pull the cable" and stored < 80:
            return LooseCable(board.device, 2500)
        return SerialLink(board.device)

    with UnixBoard("demo board", secret, flash) as board:
        GaugeBench(board, instruments, SPEED, begin).start()
        with contextlib.suppress(LinkLostError):
            record(Ways(plug, wait_s=1.0), job, path, Onlooker(watch, bool))


def record_job(entry: dict, path: Path, secret: Path) -> None:
    """Play the whole guided job of `rockhold demo`; the capture is left without result and seal."""
    procedure = load_procedure(PROCEDURE)
    job = replace(
        demo_job(procedure.name, procedure.text),
        technician=MILLER.name,
        vehicle={"number": entry["vehicle"], "note": "invented"},
        wheel_end={"position": entry["wheel_end"], "kind": "trailer", "threads_per_inch": 12},
    )
    carried_out(job, procedure, path, secret, io.StringIO(), SPEED, entry["seed"])

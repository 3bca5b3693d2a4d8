"""Plays the demo: starts the board, carries the whole job through as a host would, seals it."""

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from rockhold.capture.lines import SUFFIX
from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.capture.trace import measured_trace
from rockhold.demo.job import ANSWERS, END_PLAYS_IN, PERSON, PROCEDURE, demo_job
from rockhold.errors import CaptureWriteError
from rockhold.evidence.finish import finish
from rockhold.evidence.keys import BOARD, TECHNICIAN, home, signer, trust_key
from rockhold.evidence.result import limits_of
from rockhold.guided.means import means_of
from rockhold.guided.run import JobRun
from rockhold.guided.script import Script, answers_in
from rockhold.guided.shell import Shell
from rockhold.guided.verdict import verdict_lines
from rockhold.links.serial_port import SerialLink
from rockhold.measure.limits import OUT_SIGN
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.load import load_procedure
from rockhold.procedure.model import Procedure
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.report.plot import draw, save
from rockhold.report.units import US
from rockhold.simulator.jobbench import WITH_SENSOR, JobBench
from rockhold.simulator.unix_board import UnixBoard
from rockhold.utc import now_utc

SPEED = 20.0  # the simulated technician works this much faster than a real one
SEED = 20
_PATIENCE_S = 120.0


@dataclass(frozen=True, slots=True)
class Played:
    """What the demo left behind.

    Attributes:
        result: The measurement.
        true_mm: The end play that was simulated.
        steps: What became of the steps, in lines.
        capture: The sealed capture.
        picture: The picture of its trace.
    """

    result: EndPlayResult
    true_mm: float
    steps: list[str]
    capture: Path
    picture: Path


def play(folder: Path, out: TextIO, speed: float = SPEED, seed: int = SEED) -> Played:
    """Carry out the whole job and leave a capture and a picture in a folder.

    Args:
        folder: Where to; made when it is not there.
        out: Where the screens go.
        speed: Seconds of the job in a real second.
        seed: Of the simulated wheel end, technician and gauge.

    Raises:
        RockholdError: When something of the real part fails.
    """
    capture = _free_name(folder)
    person = signer(PERSON, TECHNICIAN)
    procedure = load_procedure(PROCEDURE)
    job = demo_job(procedure.name, procedure.text)
    run = carried_out(job, procedure, capture, _board_secret(), out, speed, seed)
    _trust_board(capture)
    result = finish(capture, person, now_utc())
    picture = capture.with_suffix(".png")
    _draw(capture, result, picture)
    steps = verdict_lines(run.history, run.stopped)
    return Played(result, END_PLAYS_IN[-1] * MM_PER_INCH, steps, capture, picture)


def carried_out(
    job: Job, procedure: Procedure, path: Path, secret: Path, out: TextIO, speed: float, seed: int
) -> JobRun:
    """Carry the whole job out at a simulated board; the capture is left without result and seal.

    Args:
        job: Who works, and on what.
        procedure: The job's procedure.
        path: The capture.
        secret: The board's key.
        out: Where the screens go.
        speed: Seconds of the job in a real second.
        seed: Of the simulated wheel end, technician and gauge.
    """
    run = JobRun(procedure, means_of(job))
    shell = Shell(run, Script(answers_in(ANSWERS, "the demo"), "the demo"), out, _PATIENCE_S)
    with tempfile.TemporaryDirectory(prefix="rockhold-demo-") as flash:
        (Path(flash) / "settings.json").write_text(json.dumps(WITH_SENSOR))
        with UnixBoard("demo board", secret, Path(flash)) as board:
            shell.say(f"The board runs in MicroPython; a host finds it on {board.device}.")
            out_sign = OUT_SIGN[job.mount]
            hands = JobBench(board, path, END_PLAYS_IN, speed, seed, out_sign=out_sign)
            hands.start()
            ways = Ways(lambda: SerialLink(board.device), button_tells=True)
            onlooker = Onlooker(shell.stored, shell.stop, shell.say, shell.linked, shell.opened)
            try:
                record(ways, job, path, onlooker)
            finally:
                hands.end()
                shell.end()
    return run


def _draw(path: Path, result: EndPlayResult, picture: Path) -> None:
    capture = read_capture(path)
    trace, limits = measured_trace(capture), limits_of(capture)
    save(draw(trace, result, limits, path.name, US, torque_trace_of(capture)), picture)


def _free_name(folder: Path) -> Path:
    for number in range(1, 1000):
        path = folder / f"demo-{number}{SUFFIX}"
        if not path.exists() and not path.with_suffix(".png").exists():
            return path
    raise CaptureWriteError(f"{folder} holds 999 demos already. Choose another folder with --out")


def _trust_board(capture: Path) -> None:
    # Its secret lies in this user's own folder, so it deserves the trust of the user's own keys.
    board = read_capture(capture).header["board"]
    assert isinstance(board, dict)
    trust_key(bytes.fromhex(board["public_key"]), "demo board (simulated)", BOARD)


def _board_secret() -> Path:
    folder = home() / "demo"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return folder / "board-secret"

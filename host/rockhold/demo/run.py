"""Plays the demo: starts the board, records it as any host would, measures, seals, draws."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from rockhold.capture.lines import SUFFIX
from rockhold.capture.reader import read_capture
from rockhold.capture.trace import load_trace
from rockhold.demo.bench import GaugeBench
from rockhold.errors import CaptureWriteError
from rockhold.evidence.finish import finish
from rockhold.evidence.keys import BOARD, TECHNICIAN, home, signer, trust_key
from rockhold.links.serial_port import SerialLink
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import limits_from_text, procedure_text
from rockhold.record.header import Job, now_utc
from rockhold.record.job import Onlooker, Ways, record
from rockhold.record.live import Live
from rockhold.report.plot import draw, save
from rockhold.simulator.scenario import Gauge, Scenario, Technician, WheelEnd
from rockhold.simulator.simulate import simulate
from rockhold.simulator.unix_board import UnixBoard

SPEED = 4.0  # the simulated technician works this much faster than a real one
SEED = 20
PERSON = "demo technician"

# An invented trailer wheel end, set to three thousandths, under a gauge of half a thousandth.
SCENARIO = Scenario(
    wheel_end=WheelEnd(end_play_mm=0.003 * MM_PER_INCH, runout_mm=0.05, give_mm=0.003),
    technician=Technician(cycles=3),
    gauge=Gauge(unit="in", step_mm=0.0005 * MM_PER_INCH, rate_hz=13.9, jitter=0.004, lag_s=0.05),
)


@dataclass(frozen=True, slots=True)
class Played:
    """What the demo left behind.

    Attributes:
        result: The measurement.
        true_mm: The end play that was simulated.
        capture: The sealed capture.
        picture: The picture of its trace.
    """

    result: EndPlayResult
    true_mm: float
    capture: Path
    picture: Path


def play(folder: Path, out: TextIO, speed: float = SPEED, seed: int = SEED) -> Played:
    """Run the whole job and leave a capture and a picture in a folder.

    Args:
        folder: Where to; made when it is not there.
        out: Where the live view goes.
        speed: Seconds of the job in a real second.
        seed: Of the simulated wheel end, technician and gauge.

    Raises:
        RockholdError: When something of the real part fails.
    """
    capture = _free_name(folder)
    trace, truth = simulate(SCENARIO, seed)
    text = procedure_text()
    job = Job(
        technician=PERSON,
        procedure_name="end play",
        procedure_text=text,
        vehicle={"number": "demo 7", "note": "invented"},
        wheel_end={"position": "trailer, axle 2, left"},
        tools=({"kind": "indicator", "name": "simulated 24-bit gauge"},),
    )
    person = signer(PERSON, TECHNICIAN)
    limits = limits_from_text(text, "the shipped procedure")
    live = Live(out, limits, "demo: a simulated wheel end, played fast")
    begin = threading.Event()

    def watch(message: tuple[object, ...]) -> None:
        begin.set()
        live(message)

    with UnixBoard("demo board", _board_secret()) as board:
        live.say(f"The board runs in MicroPython; a host finds it on {board.device}.")
        GaugeBench(board, trace, speed, begin).start()
        ways = Ways(lambda: SerialLink(board.device))
        record(ways, job, capture, Onlooker(watch, _never, live.say, live.linked))
    live.end()
    _trust_board(capture)
    result = finish(capture, person, now_utc())
    picture = capture.with_suffix(".png")
    save(draw(load_trace(capture), result, limits, capture.name), picture)
    return Played(result, truth.end_play_mm, capture, picture)


_never: Callable[[], bool] = bool


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

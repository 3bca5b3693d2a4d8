"""Make the captures of the invented fleet, through the real board program in MicroPython.

    .venv/bin/python demo_captures/make.py [NAME…]

Reads fleet.toml and leaves one capture for each entry, and the demo keys. Files that are there are
left alone: a released capture is never made again, because newer code must still verify it.
"""

import base64
import contextlib
import hashlib
import io
import json
import sys
import tempfile
import threading
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from joserfc.jwk import OKPKey

from rockhold.capture.lines import SUFFIX
from rockhold.demo.job import PROCEDURE, demo_job
from rockhold.demo.run import carried_out
from rockhold.errors import LinkLostError
from rockhold.evidence.countersign import countersign
from rockhold.evidence.finish import finish, finish_later
from rockhold.evidence.keyfile import BOARD, REVIEWER, TECHNICIAN, KeyRecord, lock, to_text
from rockhold.evidence.keys import Signer, now_utc
from rockhold.evidence.reviews import ACCEPT, REJECT
from rockhold.evidence.seal import make_seal
from rockhold.evidence.trust import Trusted
from rockhold.links.serial_port import SerialLink
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
from rockwire import ed25519, frames
from rockwire import messages as m
from rockwire.chain import Chain

FOLDER = Path(__file__).parent
KEYS = FOLDER / "keys"
SPEED = 20.0
MADE_UTC = "2026-11-25T00:00:00Z"
STEPS_MM = {"in": 0.0005 * MM_PER_INCH, "mm": 0.01}


def person(name: str, role: str) -> Signer:
    """Return a demo person, whose key anybody can make from the name."""
    seed = hashlib.sha256(f"rockhold demo {role} {name}".encode()).digest()
    text = base64.urlsafe_b64encode(seed).rstrip(b"=").decode()
    public = base64.urlsafe_b64encode(ed25519.public_key(seed)).rstrip(b"=").decode()
    key = OKPKey.import_key({"kty": "OKP", "crv": "Ed25519", "x": public, "d": text})
    return Signer(key, name, role)


BOARD_SECRET = hashlib.sha256(b"rockhold demo board 1").digest()
MILLER = person("A. Miller (demo)", TECHNICIAN)
QUIST = person("O. Quist (demo)", REVIEWER)
STRANGER = person("B. Novak (demo)", TECHNICIAN)


def write_keys() -> None:
    """Leave the demo keys as a folder that ROCKHOLD_HOME can name."""
    for signer in (MILLER, QUIST):
        public = ed25519.public_key(base64.urlsafe_b64decode(_secret(signer) + "="))
        one = KeyRecord(signer.name, signer.role, public, MADE_UTC, lock(signer.key, ""))
        _put(KEYS / "own" / f"{signer.role}.json", to_text(one))
    board = KeyRecord("demo board", BOARD, ed25519.public_key(BOARD_SECRET), MADE_UTC)
    _put(KEYS / "trusted" / "board.json", to_text(board))


def scenario_of(entry: dict) -> Scenario:
    """Return what is simulated for an entry of the fleet."""
    unit = entry.get("unit", "in")
    kind = entry.get("misfortune")
    end_play_mm = entry.get("end_play_in", 0.003) * MM_PER_INCH
    return Scenario(
        wheel_end=WheelEnd(
            end_play_mm=end_play_mm, runout_mm=entry.get("runout_mm", 0.05), give_mm=0.003
        ),
        gauge=Gauge(unit=unit, step_mm=STEPS_MM[unit], rate_hz=13.9, jitter=0.004, lag_s=0.05),
        misfortunes=(Misfortune(kind),) if kind else (),
    )


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


# --- what is done to a file afterwards -----------------------------------------------------------


def seal_it(path: Path) -> None:
    """Finish it as `rockhold record` does."""
    finish(path, MILLER, now_utc())


def seal_as_stranger(path: Path) -> None:
    """Finish it with a key that nobody knows."""
    finish(path, STRANGER, now_utc())


def cut(path: Path) -> None:
    """Tear the last line, as a computer without power does."""
    path.write_bytes(path.read_bytes()[:-23])


def recover(path: Path) -> None:
    """Tear it, then finish it as `rockhold seal` does."""
    cut(path)
    finish_later(path, MILLER)


def review(verdict: str, because: str) -> Callable[[Path], None]:
    """Finish it, then review it as `rockhold review` does."""

    def deed(path: Path) -> None:
        seal_it(path)
        countersign(path, QUIST, verdict, because, {("", ""): Trusted("")})

    return deed


def change_a_byte(path: Path) -> None:
    """Finish it, then change the vehicle's number."""
    seal_it(path)
    path.write_bytes(path.read_bytes().replace(b"R-110", b"R-101", 1))


def forge(change: Callable[[list[bytes]], None]) -> Callable[[Path], None]:
    """Finish it, then change lines and seal again with the technician's key."""

    def deed(path: Path) -> None:
        seal_it(path)
        data = path.read_bytes()
        lines = data[: data.index(b'{"marks":')].splitlines(keepends=True)
        change(lines)
        above = b"".join(lines)
        path.write_bytes(above + make_seal(above, MILLER.key, MILLER.role, MILLER.name, now_utc()))

    return deed


def forge_readings(path: Path) -> None:
    """Shrink all travel to a third, make chain and CRC fit again, measure and seal anew."""
    lines = path.read_bytes().splitlines(keepends=True)
    chain = Chain(bytes.fromhex(json.loads(lines[0])["nonce"]))
    rest = None
    for at, line in enumerate(lines):
        if not line.startswith(b'{"record":'):
            continue
        value = json.loads(line)
        frame = frames.unpack(base64.b64decode(value["record"]))
        message = frame.message
        if isinstance(message, m.Readings):
            rest = message.count[0] if rest is None else rest
            forged = tuple(rest + round((count - rest) / 3) for count in message.count)
            message = message._replace(count=forged)
        body = frames.record_body(message, frame.number)
        value["record"] = base64.b64encode(frames.pack_record(body, chain.extend(body))).decode()
        lines[at] = json.dumps(value, separators=(",", ":")).encode() + b"\n"
    path.write_bytes(b"".join(lines))
    seal_it(path)


def relabel(lines: list[bytes]) -> None:
    """Write another vehicle and wheel end into the header."""
    lines[0] = lines[0].replace(b"R-111, trailer", b"R-102, trailer", 1)


def forge_result(lines: list[bytes]) -> None:
    """Write the result of a good wheel end."""
    at = next(at for at, line in enumerate(lines) if line.startswith(b'{"result":'))
    value = json.loads(lines[at])
    value["result"] |= {"end_play_mm": 0.0762, "verdict": "accept", "conformity": 1.0}
    lines[at] = json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


DEEDS: dict[str, Callable[[Path], None]] = {
    "": seal_it,
    "pull the cable": seal_it,
    "stranger": seal_as_stranger,
    "accept": review(ACCEPT, "three clean cycles, inside the band with room to spare"),
    "reject": review(REJECT, "too loose; adjust and record again"),
    "cut": cut,
    "recover": recover,
    "change a byte": change_a_byte,
    "forge readings": forge_readings,
    "relabel": forge(relabel),
    "forge the result": forge(forge_result),
}


def main() -> None:
    """Make what is missing."""
    wanted = sys.argv[1:]
    write_keys()
    fleet = tomllib.loads((FOLDER / "fleet.toml").read_text(encoding="utf-8"))["capture"]
    with tempfile.TemporaryDirectory() as folder:
        secret = Path(folder) / "board-secret"
        secret.write_bytes(BOARD_SECRET)
        for entry in fleet:
            path = FOLDER / f"{entry['name']}{SUFFIX}"
            if path.exists() or (wanted and entry["name"] not in wanted):
                continue
            part = Path(folder) / path.name
            (record_job if entry.get("guided") else record_one)(entry, part, secret)
            DEEDS[entry.get("deed", "")](part)
            path.write_bytes(part.read_bytes())
            print(f"{path.name}: {path.stat().st_size} bytes", flush=True)


def _secret(signer: Signer) -> str:
    return str(signer.key.as_dict(private=True)["d"])


def _put(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

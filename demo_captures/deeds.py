"""What is done to a recorded capture of the invented fleet: sealed, reviewed, torn, forged."""

import base64
import json
from collections.abc import Callable
from pathlib import Path

from people import MILLER, QUIST, STRANGER

from rockhold.evidence.countersign import countersign
from rockhold.evidence.finish import finish, finish_later
from rockhold.evidence.reviews import ACCEPT, REJECT
from rockhold.evidence.seal import make_seal
from rockhold.evidence.trust import Trusted
from rockhold.utc import now_utc
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain


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

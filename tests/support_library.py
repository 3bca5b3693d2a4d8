"""Many captures for the tests of the library: one job under other headers, signed anew throughout.

A variant is as valid as its original: header, nonce, chain, the board's signature and the
technician's seal are all made again, so `rockhold verify` finds it good.
"""

import base64
import json
import secrets
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from rockhold.capture.binding import nonce_for
from rockhold.capture.lines import to_line
from rockhold.evidence.seal import make_seal
from rockhold.simulator.scenario import Misfortune, Scenario, Technician, WheelEnd
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain, seal_text
from support_evidence import BOARD_SECRET, GAUGE, TECHNICIAN, make_capture, without_seals

_BOARD_KEY = Ed25519PrivateKey.from_private_bytes(BOARD_SECRET)


def base_capture(path, end_play_mm=0.0762, seed=20, cycles=2, misfortunes=()):
    """Record a short job; return the bytes of its capture."""
    scenario = Scenario(
        wheel_end=WheelEnd(end_play_mm=end_play_mm, runout_mm=0.05, give_mm=0.003),
        technician=Technician(cycles=cycles),
        gauge=GAUGE,
        misfortunes=tuple(map(Misfortune, misfortunes)),
    )
    return make_capture(Path(path), seed=seed, scenario=scenario).read_bytes()


def growing_bases(folder):
    """Record one job after the other, with more end play each time."""
    sizes = (0.040, 0.055, 0.070, 0.085, 0.100)
    return [base_capture(folder / f"{mm}.capture", end_play_mm=mm) for mm in sizes]


def variant(
    data,
    number="1207",
    position="axle 2, left",
    opened_utc="2026-03-02T10:00:00Z",
    signer=TECHNICIAN,
    entries=(),
    **header,
):
    """Return the bytes of a capture with the same readings under another header.

    Args:
        data: The original.
        number: The vehicle.
        position: The wheel end.
        opened_utc: When it was opened, and sealed.
        signer: Who did the work.
        entries: Lines to put above the result.
        header: Other names of the header.
    """
    lines = without_seals(data).splitlines(keepends=True)
    first = json.loads(lines[0]) | {
        "capture": secrets.token_hex(8),
        "nonce": bytes(m.NONCE_SIZE).hex(),
        "opened_utc": opened_utc,
        "vehicle": {"number": number},
        "wheel_end": {"position": position},
        "people": [{"role": "technician", "name": signer.name}],
    } | header  # fmt: skip
    nonce = nonce_for(to_line(first))
    chain = Chain(nonce)
    out = [to_line(first | {"nonce": nonce.hex()})]
    for line in lines[1:]:
        if line.startswith(b'{"record":"'):
            line = _record(line, nonce, chain)
        elif line.startswith(b'{"result":'):
            out += [to_line(entry) for entry in entries]
        out.append(line)
    above = b"".join(out)
    return above + make_seal(above, signer.key, signer.role, signer.name, opened_utc)


def _record(line, nonce, chain):
    value = json.loads(line)
    frame = frames.unpack(base64.b64decode(value["record"]))
    message = frame.message
    if isinstance(message, m.Open):
        message = message._replace(nonce=nonce)
    elif isinstance(message, m.Seal):
        message = message._replace(signature=_BOARD_KEY.sign(seal_text(nonce, chain)))
    body = frames.record_body(message, frame.number)
    packet = frames.pack_record(body, chain.extend(body))
    return to_line(value | {"record": base64.b64encode(packet).decode()})


def step(name, kind, outcome="done", **values):
    """Return the line of a step as a guided job writes it."""
    return {
        "entry": "step", "step": name, "kind": kind, "title": name, "outcome": outcome,
        "attempt": 1, "by": "A. Miller", "because": "", "values": values, "board_us": None,
        "host_utc_us": 1,
    }  # fmt: skip

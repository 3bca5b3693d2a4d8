"""The first line of a capture: everything that is known before the first reading."""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field

from rockhold import __version__
from rockhold.capture.binding import nonce_for
from rockhold.capture.lines import FORMAT_VERSION, to_line
from rockhold.utc import now_utc
from rockwire import messages as m


@dataclass(frozen=True, slots=True)
class Job:
    """What a person says about the job before recording.

    Attributes:
        technician: Who does the work.
        vehicle: Facts about the vehicle, for example number, make, serial number.
        wheel_end: Axle, side and position.
        procedure_name: Name of the procedure.
        procedure_text: The procedure's whole TOML text.
        mount: "spindle" (base on the spindle end, plunger on the hub face) or "hub".
        tools: Facts about each tool.
        work: Nature and due date of the inspection or repair.
        continues: Id of the capture of an earlier sitting, whose job goes on in this one.
    """

    technician: str
    procedure_name: str
    procedure_text: str
    mount: str = "spindle"
    vehicle: Mapping[str, object] = field(default_factory=dict)
    wheel_end: Mapping[str, object] = field(default_factory=dict)
    tools: tuple[Mapping[str, object], ...] = ()
    work: Mapping[str, object] = field(default_factory=dict)
    continues: str = ""


def make_header(job: Job, board: m.Ident) -> dict[str, object]:
    """Return the header of a capture; its nonce, for the board, follows from all the rest."""
    procedure = job.procedure_text
    header: dict[str, object] = {
        "rockhold": "capture",
        "version": FORMAT_VERSION,
        "capture": secrets.token_hex(8),
        "nonce": bytes(m.NONCE_SIZE).hex(),
        "opened_utc": now_utc(),
        "software": f"rockhold {__version__}",
        "board": {
            "id": board.board_id.hex(),
            "public_key": board.public_key.hex() if any(board.public_key) else None,
            "name": board.name,
            "firmware": ".".join(str(part) for part in board.firmware),
        },
        "mount": job.mount,
        "procedure": {
            "name": job.procedure_name,
            "sha256": hashlib.sha256(procedure.encode()).hexdigest(),
            "text": procedure,
        },
        "vehicle": dict(job.vehicle),
        "wheel_end": dict(job.wheel_end),
        "people": [{"role": "technician", "name": job.technician}],
        "tools": [dict(tool) for tool in job.tools],
    }
    if job.work:
        header["work"] = dict(job.work)
    if job.continues:
        header["continues"] = job.continues
    return {**header, "nonce": nonce_for(to_line(header)).hex()}

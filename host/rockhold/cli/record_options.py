"""What `record` is asked for: the job, from its options or from a capture that goes on."""

import sys
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from rockhold.capture.lines import SUFFIX
from rockhold.capture.reader import read_capture
from rockhold.capture.writer import check_place
from rockhold.cli.facts import read_facts, with_options
from rockhold.cli.tools import job_tools
from rockhold.cli.widths import for_a_screen
from rockhold.errors import CaptureFormatError, CaptureWriteError, UsageError
from rockhold.procedure.endplay import procedure_text
from rockhold.procedure.load import find_text, procedure_from_text
from rockhold.procedure.model import Procedure
from rockhold.record.header import Job


def asked_for(
    file: Path | None, go_on: bool, options: dict[str, Any]
) -> tuple[Path, Job, Procedure]:
    """Return the capture's place, the job and its procedure, as the options say.

    Raises:
        RockholdError: When they do not fit each other, or nothing can be recorded there.
    """
    _check_numbers(options)
    path = file or Path(datetime.now().strftime(f"%Y-%m-%d-%H%M%S{SUFFIX}"))
    if go_on:
        if file is None:
            raise UsageError("--resume needs the FILE to go on with")
        return path, *_job_of(path, options["technician"])
    if path.exists():
        raise CaptureWriteError(
            f"{path} exists already, and a capture is never overwritten. Choose another name, "
            "or go on with it by --resume"
        )
    check_place(path)
    return path, *_new_job(options)


def _check_numbers(options: dict[str, Any]) -> None:
    seconds, mpe_mm, wait_s = options["seconds"], options["mpe_mm"], options["wait_s"]
    if seconds is not None and not seconds > 0:
        raise UsageError(f"--seconds must be above zero, is {seconds}")
    if mpe_mm is not None and not 0 < mpe_mm < 1000:
        raise UsageError(f"--mpe-mm must be above zero and below 1000 mm, is {mpe_mm}")
    if not wait_s >= 0:
        raise UsageError(f"--wait-s must be zero or more, is {wait_s}")


def _new_job(options: dict[str, Any]) -> tuple[Job, Procedure]:
    """Return the job that the options describe, and its procedure."""
    technician = options["technician"]
    if not technician:
        raise UsageError('say who does the work: --technician "NAME"')
    name = options["procedure"]
    text, where = find_text(name) if name else (procedure_text(), "the shipped procedure")
    procedure = procedure_from_text(text, where, Path(name or "").parent)
    facts = read_facts(options["vehicle_file"])
    with_options(facts, "vehicle", {"number": options["vehicle"]})
    wheel_end = {
        "axle": options["axle"],
        "side": options["side"],
        "position": options["wheel_end"],
        "kind": procedure.axle,
        "threads_per_inch": options["threads"],
        "lock_positions": options["lock_positions"],
    }
    with_options(facts, "wheel_end", wheel_end)
    mpe_mm = options["mpe_mm"]
    told = ({"kind": "indicator", "mpe_mm": mpe_mm},) if mpe_mm else ()
    tools = told + job_tools(options["tool_ids"], _tell)
    job = Job(
        technician=technician,
        procedure_name=procedure.name,
        procedure_text=procedure.text,
        mount=options["mount"],
        vehicle=facts["vehicle"],
        wheel_end=facts["wheel_end"],
        tools=tools,
        work=facts["work"],
    )
    return job, procedure


def _tell(text: str) -> None:
    click.echo(for_a_screen(text, sys.stderr), err=True)


def _job_of(path: Path, technician: str | None) -> tuple[Job, Procedure]:
    """Return the job of a capture that goes on: all of it stands in its first line."""
    name, header = _header_of(path)
    if technician and technician != name:
        raise UsageError(
            f"{path} is the work of {name!r}, who signs it; --technician {technician!r} cannot go "
            "on with it"
        )
    stored = header.get("procedure", {})
    text = str(stored.get("text", ""))
    job = Job(
        technician=name,
        procedure_name=str(stored.get("name", "")),
        procedure_text=text,
        mount=str(header.get("mount", "spindle")),
        vehicle=header.get("vehicle", {}),
        wheel_end=header.get("wheel_end", {}),
        tools=tuple(tool for tool in header.get("tools", []) if isinstance(tool, dict)),
        work=header.get("work", {}),
    )
    return job, procedure_from_text(text, f"{path}, procedure in line 1")


def _header_of(path: Path) -> tuple[str, Mapping[str, Any]]:
    """Return technician and header of a capture that goes on.

    Raises:
        CaptureFormatError: When line 1 does not say them.
    """
    header = read_capture(path).header
    people = header.get("people")
    for one in people if isinstance(people, list) else []:
        if isinstance(one, dict) and one.get("role") == "technician":
            return str(one.get("name", "")), header
    raise CaptureFormatError(f"{path}: line 1 names no technician", 1)

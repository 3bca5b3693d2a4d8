"""`rockhold record`: capture one wheel end."""

import sys
import threading
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import click

from rockhold.capture.lines import SUFFIX
from rockhold.cli import exits
from rockhold.cli.port import RadioWay, open_board
from rockhold.cli.secret import signing_key
from rockhold.cli.tools import job_tools
from rockhold.errors import UsageError
from rockhold.evidence.finish import finish
from rockhold.evidence.keys import TECHNICIAN
from rockhold.procedure.endplay import limits_from_text, procedure_text
from rockhold.record.header import Job, now_utc
from rockhold.record.job import Onlooker, Ways, record, resume
from rockhold.record.live import Live
from rockhold.report.words import CAUTIONS, result_lines


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--port", help="Serial port of the board; else the only board that answers.")
@click.option("--radio", metavar="NAME", help="Name of the board, when it is not on a cable.")
@click.option("--technician", required=True, metavar="NAME", help="Who does the work and signs.")
@click.option("--vehicle", metavar="TEXT", default="", help="Company number of the vehicle.")
@click.option("--wheel-end", metavar="TEXT", default="", help='For example "axle 2, left".')
@click.option(
    "--mount",
    type=click.Choice(["spindle", "hub"]),
    default="spindle",
    show_default=True,
    help="Where the indicator's base sits.",
)
@click.option("--procedure", type=click.Path(path_type=Path), help="Procedure file (TOML).")
@click.option("--tool", "tool_ids", metavar="ID", multiple=True, help="A tool of `tools list`.")
@click.option("--mpe-mm", type=float, help="The indicator's limit of error, from its certificate.")
@click.option("--seconds", type=float, help="Stop after this long; else with Enter or the button.")
@click.option("--no-seal", is_flag=True, help="Leave the capture unsealed.")
@click.option("--end-other", is_flag=True, help="End a capture that the board is still recording.")
@click.option("--resume", "go_on", is_flag=True, help="Go on with FILE, which was broken off.")
@click.option(
    "--wait-s", type=float, default=30, show_default=True, help="How long to wait for a lost board."
)
def command(
    file: Path | None,
    port: str | None,
    radio: str | None,
    technician: str,
    vehicle: str,
    wheel_end: str,
    mount: str,
    procedure: Path | None,
    tool_ids: tuple[str, ...],
    mpe_mm: float | None,
    seconds: float | None,
    no_seal: bool,
    end_other: bool,
    go_on: bool,
    wait_s: float,
) -> int:
    """Record one wheel end into a capture FILE, measure it and seal it.

    Stop with Enter or with the board's button. A cable that comes out is waited for; nothing is
    lost. Ctrl-C breaks off and leaves the capture unsealed.

    Example: rockhold record left.capture --technician "A. Miller" --wheel-end "axle 2, left"
    """
    if seconds is not None and not seconds > 0:
        raise UsageError(f"--seconds must be above zero, is {seconds}")
    if mpe_mm is not None and not 0 < mpe_mm < 1000:
        raise UsageError(f"--mpe-mm must be above zero and below 1000 mm, is {mpe_mm}")
    if not wait_s >= 0:
        raise UsageError(f"--wait-s must be zero or more, is {wait_s}")
    text = procedure_text(procedure)
    limits = limits_from_text(text, str(procedure or "the shipped procedure"))
    path = file or Path(datetime.now().strftime(f"%Y-%m-%d-%H%M%S{SUFFIX}"))
    told = ({"kind": "indicator", "mpe_mm": mpe_mm},) if mpe_mm else ()
    tools = told + job_tools(tool_ids, lambda text: click.echo(text, err=True))
    # The key is asked for before the work: a passphrase that nobody knows must not spoil a capture.
    person = None if no_seal else signing_key(technician, TECHNICIAN)
    job = Job(
        technician=technician,
        procedure_name=procedure.stem if procedure else "end play",
        procedure_text=text,
        mount=mount,
        vehicle={"number": vehicle} if vehicle else {},
        wheel_end={"position": wheel_end} if wheel_end else {},
        tools=tools,
    )
    if go_on and file is None:
        raise UsageError("--resume needs the FILE to go on with")
    for caution in CAUTIONS:
        click.echo(caution, err=True)
    live = Live(sys.stderr, limits, f"{path.name}   {wheel_end}")
    live.say(f"Recording to {path}. Enter or the board's button stops it, Ctrl-C breaks off.")
    way = RadioWay(radio, port) if radio else lambda: open_board(port)
    ways = Ways(way, wait_s, end_other)
    onlooker = Onlooker(live, _stopper(seconds), live.say, live.linked)
    try:
        if go_on:
            resume(ways, path, onlooker)
        else:
            record(ways, job, path, onlooker)
    except KeyboardInterrupt:
        live.end()
        click.echo(
            f"Stopped. What came is in {path}, unsealed. `rockhold record {path} --resume` goes on "
            f"while the board knows it; `rockhold seal {path}` finishes it as it is.",
            err=True,
        )
        return exits.INTERRUPTED
    finally:
        live.end()
    result = finish(path, person, now_utc())
    for line in result_lines(result.to_json()):
        click.echo(line)
    click.echo(f"Capture: {path}" + ("" if person else " (unsealed)"))
    return exits.for_verdict(result.verdict)


def _stopper(seconds: float | None) -> Callable[[], bool]:
    """Return what says that recording shall stop: after some time, or once Enter is pressed."""
    enter = threading.Event()
    if sys.stdin is not None and sys.stdin.isatty():

        def wait_for_enter() -> None:
            sys.stdin.readline()
            enter.set()

        threading.Thread(target=wait_for_enter, daemon=True).start()
    end = None if seconds is None else time.monotonic() + seconds
    return lambda: enter.is_set() or (end is not None and time.monotonic() >= end)

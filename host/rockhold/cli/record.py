"""`rockhold record`: capture one wheel end, end play alone or the whole guided job."""

import signal
import textwrap
from pathlib import Path
from typing import Any

import click

from rockhold.capture.reader import read_capture
from rockhold.cli import exits
from rockhold.cli.complete import PROCEDURES, TECHNICIANS, TOOLS
from rockhold.cli.enter import ending_like_ctrl_c
from rockhold.cli.facts import SIDES
from rockhold.cli.port import CableWay, FoundFirst, RadioWay
from rockhold.cli.record_options import asked_for
from rockhold.cli.secret import signing_key
from rockhold.cli.sitting import (
    Sitting,
    going_on_with,
    guided,
    plain,
    script_for,
)
from rockhold.cli.widths import filled, paragraph_columns
from rockhold.errors import CaptureFormatError, UsageError
from rockhold.evidence.finish import finish
from rockhold.evidence.keys import TECHNICIAN, Signer
from rockhold.guided.course import ENDED
from rockhold.guided.run import JobRun
from rockhold.guided.verdict import verdict_lines
from rockhold.procedure.model import Procedure
from rockhold.record.job import refuse_other
from rockhold.record.ways import Ways
from rockhold.report.words import CAUTIONS, result_lines
from rockhold.typed import typed
from rockhold.utc import now_utc


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--port", help="Serial port of the board; else the only board that answers.")
@click.option("--radio", metavar="NAME", help="Name of the board, when it is not on a cable.")
@click.option(
    "--technician",
    metavar="NAME",
    shell_complete=TECHNICIANS,
    help="Who does the work and signs.",
)
@click.option("--vehicle", metavar="TEXT", default="", help="Company number of the vehicle.")
@click.option(
    "--vehicle-file", type=click.Path(path_type=Path), help="Facts of vehicle and wheel end (TOML)."
)
@click.option("--wheel-end", metavar="TEXT", default="", help='For example "axle 2, left".')
@click.option("--axle", type=int, help="Number of the axle, from the front.")
@click.option("--side", type=click.Choice(SIDES), help="Side of the vehicle.")
@click.option("--threads", type=float, help="Threads per inch of the spindle nut.")
@click.option("--lock-positions", type=int, help="Places in a turn where the nut's lock engages.")
@click.option(
    "--mount",
    type=click.Choice(["spindle", "hub"]),
    default="spindle",
    show_default=True,
    help="Where the indicator's base sits.",
)
@click.option(
    "--procedure",
    metavar="NAME",
    shell_complete=PROCEDURES,
    help="The whole job, step by step: a name of `procedures list`, or a TOML file.",
)
@click.option(
    "--answers", type=click.Path(path_type=Path), help="Answers for a guided job, from a file."
)
@click.option(
    "--tool",
    "tool_ids",
    metavar="ID",
    multiple=True,
    shell_complete=TOOLS,
    help="A tool of `tools list`.",
)
@click.option("--mpe-mm", type=float, help="The indicator's limit of error, from its certificate.")
@click.option("--seconds", type=float, help="Stop after this long; else with Enter or the button.")
@click.option("--no-seal", is_flag=True, help="Leave the capture unsealed.")
@click.option("--end-other", is_flag=True, help="End a capture that the board is still recording.")
@click.option("--resume", "go_on", is_flag=True, help="Go on with FILE, which was broken off.")
@click.option(
    "--wait-s", type=float, default=30, show_default=True, help="How long to wait for a lost board."
)
def command(file: Path | None, go_on: bool, **options: Any) -> int:
    """Record one wheel end into a capture FILE, measure it and seal it.

    Stop with Enter or with the board's button. A cable that comes out is waited for; nothing is
    lost. Ctrl-C breaks off and leaves the capture unsealed. With --procedure it leads through the
    whole job, one step at a time.

    Example: rockhold record left.capture --technician "A. Miller" --wheel-end "axle 2, left"
    """
    path, job, procedure = asked_for(file, go_on, options)
    is_guided = len(procedure.steps) > 1
    if options["answers"] and not is_guided:
        raise UsageError("--answers goes with --procedure NAME, a guided job")
    script = script_for(options["answers"]) if is_guided else None
    radio, port, may_end = options["radio"], options["port"], options["end_other"]
    named = _named(options)
    try:
        with (
            ending_like_ctrl_c(signal.SIGTERM),
            FoundFirst(RadioWay(radio, port) if radio else CableWay(port)) as way,
        ):
            # Nobody types a passphrase, or reads on, for a board that is not there.
            name, board = way.look()
            if not go_on and not may_end:
                refuse_other(name, board, path.parent, named)
            # The key is opened before the work: a passphrase that nobody knows must not spoil it.
            person = None if options["no_seal"] else signing_key(job.technician, TECHNICIAN)
            _caution(procedure, wait=is_guided and script is None)
            ways = Ways(way, options["wait_s"], may_end, button_tells=is_guided)
            sitting = Sitting(job, procedure, path, ways, person, named)
            if is_guided:
                run, path = guided(sitting, go_on, script)
                return _end(path, person, run, named)
            plain(sitting, go_on, options["seconds"])
            return _end(path, person, None, named)
    except (KeyboardInterrupt, click.Abort) as stop:
        words = _stopped_words(getattr(stop, "path", path), is_guided, named)
        click.echo("\n" + filled(words, paragraph_columns()), err=True)
        return exits.INTERRUPTED


def _named(options: dict[str, Any]) -> str:
    """Return the options that name the board, as they are typed to go on."""
    names = [f" --{name} {typed(options[name])}" for name in ("port", "radio") if options[name]]
    return "".join(names) + (" --no-seal" if options["no_seal"] else "")


def _caution(procedure: Procedure, wait: bool) -> None:
    """Say the cautions; where the screens of a job will cover them, until they are read."""
    more = () if any(procedure.caution in one for one in CAUTIONS) else (procedure.caution,)
    for caution in (*CAUTIONS, *more):
        click.echo(textwrap.fill(caution, paragraph_columns()), err=True)
    if wait:
        click.echo("Read this, then press any key.", err=True)
        click.getchar()  # Ctrl-C is no key here


def _stopped_words(path: Path, is_guided: bool, named: str) -> str:
    if not path.exists():
        return f"Stopped before anything was recorded; {path} was not made."
    try:
        capture = read_capture(path)
    except CaptureFormatError:  # not even its first line had got to the disk
        return f"Stopped before anything was recorded; remove {path} and record anew."
    if capture.seals:
        return f"Stopped. {path} is finished and sealed; nothing of it is lost."
    if capture.of_kind("result"):
        return f"Stopped. {path} is finished, but unsealed: `rockhold seal {typed(path)}` seals it."
    return (
        f"Stopped. What came is in {path}, unsealed. {going_on_with(path, named)} "
        + (
            "goes on with the job; "
            if is_guided
            else "brings the rest from the board and seals it; "
        )
        + f"without the board `rockhold seal {typed(path)}` finishes it as it is."
    )


def _end(path: Path, person: Signer | None, run: JobRun | None, named: str) -> int:
    """Measure and seal what is on disk, and say what came of it."""
    result = finish(path, person, now_utc())
    measured = run is None or result.verdict is not None or run.result is not None
    lines = result_lines(result.to_json()) if measured else []
    if run is not None:
        lines += verdict_lines(run.history, run.stopped)
    lines.append(f"Capture: {path}" + ("" if person else " (unsealed)"))
    if run is not None and (run.stopped or run.phase != ENDED):
        lines.append(f"To go on: {going_on_with(path, named)}")
    for line in lines:
        click.echo(filled(line, paragraph_columns()))
    if run is not None and run.history.open_points():
        return exits.STEPS_OPEN
    if run is not None and not measured:
        return exits.OK
    return exits.for_verdict(result.verdict)

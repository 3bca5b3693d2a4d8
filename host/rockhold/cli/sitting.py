"""One sitting of a job on the command line: plain or guided, begun or gone on with."""

import contextlib
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import click

from rockhold.capture.reader import Capture, read_capture
from rockhold.capture.steps import FREE_STOP, attempts_of, free_note_us
from rockhold.capture.trace import frames_of
from rockhold.cli.enter import at_terminal, looking, stopper, without_echo
from rockhold.cli.option_text import option_text
from rockhold.errors import BoardChangedError, CaptureWriteError, LinkLostError, UsageError
from rockhold.evidence.finish import finish_later
from rockhold.evidence.keys import Signer
from rockhold.guided.course import ENDED
from rockhold.guided.keyboard import Keyboard
from rockhold.guided.means import means_of
from rockhold.guided.run import JobRun
from rockhold.guided.script import Script, answers_in
from rockhold.guided.shell import Shell
from rockhold.live.live import Live
from rockhold.live.terminal import Taken
from rockhold.procedure.model import Procedure
from rockhold.record.header import Job
from rockhold.record.job import record, resume
from rockhold.record.recorder import BY_HOST, Outcome
from rockhold.record.ways import Enter, Onlooker, Ways
from rockhold.typed import typed

_PATIENCE_S = 60.0  # of a script; a person may take all day


class BrokenOff(KeyboardInterrupt):
    """Ctrl-C while something was recorded.

    Attributes:
        path: The capture that was written at that moment: a job may go on in another one.
    """

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path


@dataclass(frozen=True, slots=True)
class Sitting:
    """What is recorded, how the board is reached, and where it goes.

    Attributes:
        named: The options that name this board, as they are typed.
    """

    job: Job
    procedure: Procedure
    path: Path
    ways: Ways
    person: Signer | None
    named: str = ""


def plain(sitting: Sitting, go_on: bool, seconds: float | None) -> None:
    """Record end play alone, until Enter, the button, or so many seconds."""
    limits = sitting.procedure.steps[0].end_play
    assert limits is not None
    text = str(sitting.job.wheel_end.get("text") or sitting.job.wheel_end.get("position", ""))
    live = Live(sys.stderr, limits, f"{sitting.path.name}   {text}")

    def opened(enter: Enter) -> None:
        live.say(f"Recording to {sitting.path}.")
        live.say("Enter or the board's button stops it, Ctrl-C breaks off.")

    with contextlib.ExitStack() as stack:
        stack.callback(live.end)
        stop = stopper(seconds)
        if at_terminal():
            terminal = stack.enter_context(Taken(sys.stdin.fileno(), without_echo))
            stop = looking(stop, terminal, live)
        _recorded(sitting, go_on, Onlooker(live, stop, live.say, live.linked, opened))


def guided(
    sitting: Sitting,
    go_on: bool,
    script: Script | None,
) -> tuple[JobRun, Path]:
    """Carry a person, or a script, through the steps; return the job and its capture.

    A capture that the board has closed or does not know any more, or that was finished before its
    steps were, is left as it is, and the job goes on in a new one, which carries the steps that are
    done.
    """
    earlier = read_capture(sitting.path) if go_on else None
    if earlier is not None and not _is_finished(earlier):
        with contextlib.suppress(BoardChangedError):
            run, ended = _one(sitting, earlier, earlier, script)
            if not _was_broken_off(run, ended):
                return run, sitting.path
        if sitting.person is not None:
            finish_later(sitting.path, sitting.person)
        earlier = read_capture(sitting.path)
    if earlier is not None:
        path = free_name(sitting.path)
        job = replace(sitting.job, continues=str(earlier.header.get("capture", "")))
        click.echo(f"The job goes on in a new capture: {path}", err=True)
        sitting = replace(sitting, path=path, job=job)
    return _one(sitting, None, earlier, script)[0], sitting.path


def _was_broken_off(run: JobRun, ended: Outcome) -> bool:
    """Say whether a host had told the board to close while the job was not at its end: Ctrl-C."""
    return ended.reason == BY_HOST and run.phase != ENDED


def script_for(answers: Path | None) -> Script | None:
    """Return who answers in a person's place, None for a person at this terminal.

    Raises:
        UsageError: When there is neither a terminal nor a file of answers.
    """
    if answers:
        answered = answers_in(option_text("--answers", answers), f"--answers {answers}")
        return Script(answered, str(answers))
    if not at_terminal():
        raise UsageError("a guided job needs a terminal to ask at, or --answers FILE")
    return None


def _is_finished(capture: Capture) -> bool:
    return bool(capture.seals or capture.of_kind("result"))


def free_name(path: Path) -> Path:
    """Return the name of the capture in which a job goes on: left-2.capture after left.capture.

    Raises:
        UsageError: When there are too many.
    """
    for number in range(2, 100):
        other = path.with_name(f"{path.stem}-{number}{path.suffix}")
        if not other.exists():
            return other
    raise UsageError(f"{path} has been gone on with 98 times already")


def _one(
    sitting: Sitting,
    same: Capture | None,
    earlier: Capture | None,
    script: Script | None,
) -> tuple[JobRun, Outcome]:
    """Run one recording: into the same capture where `same` is given, else into a new one."""
    past = attempts_of(earlier) if earlier is not None else []
    run = JobRun(sitting.procedure, means_of(sitting.job), past)
    noted_us = None if same is None else free_note_us(past)
    if same is not None and noted_us is not None:
        run.plunger.take_up((frame.message for frame in frames_of(same)), noted_us)
    with contextlib.ExitStack() as stack:
        keys = script or stack.enter_context(Keyboard())
        patience_s = _PATIENCE_S if script else None
        shell = Shell(run, keys, sys.stderr, patience_s)
        stack.callback(shell.end)

        def opened(enter: Enter) -> None:
            if earlier is not None and same is None:
                for entry in carried(earlier):
                    enter(entry)
            shell.opened(enter)

        onlooker = Onlooker(shell.stored, shell.stop, shell.say, shell.linked, opened)
        ended = _recorded(sitting, same is not None, onlooker)
    return run, ended


def going_on_with(path: Path, named: str) -> str:
    """Return the command that goes on with a capture.

    Args:
        path: The capture.
        named: The options that name its board, as they are typed.
    """
    return f"`rockhold record {typed(path)} --resume{named}`"


def _recorded(sitting: Sitting, go_on: bool, onlooker: Onlooker) -> Outcome:
    try:
        if go_on:
            return resume(sitting.ways, sitting.path, onlooker)
        return record(sitting.ways, sitting.job, sitting.path, onlooker)
    except KeyboardInterrupt as stop:
        raise BrokenOff(sitting.path) from stop
    except BoardChangedError:
        raise
    except (LinkLostError, CaptureWriteError, UsageError) as error:
        if not sitting.path.exists():
            raise
        going_on = going_on_with(sitting.path, sitting.named)
        kept = f"What came is in {sitting.path}. To go on: {going_on}"
        raise type(error)(f"{error}. {kept}") from error


def carried(earlier: Capture) -> Iterator[dict[str, object]]:
    """Yield the step lines of an earlier sitting, as they go into the next capture.

    Their board times belong to the other capture's clock and are left out.
    """
    for _, value in earlier.others:
        if next(iter(value)) == "entry" and value.get("entry") == "step":
            values = value.get("values")
            kept = dict(values) if isinstance(values, Mapping) else {}
            kept = {k: v for k, v in kept.items() if k not in ("from_us", "to_us", FREE_STOP)}
            entry = {k: v for k, v in value.items() if k not in ("board_us", "host_utc_us")}
            origin = value.get("carried_from", earlier.header.get("capture"))
            yield {
                **entry,
                "values": kept,
                "carried_from": origin,
                "done_utc_us": value.get("done_utc_us", value.get("host_utc_us")),
            }

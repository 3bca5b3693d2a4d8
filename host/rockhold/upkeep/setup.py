"""Puts the board's program on a board, through MicroPython's own tool mpremote."""

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from rockhold.errors import LinkError, NoBoardError
from rockhold.links.serial_port import SerialLink
from rockhold.record.greeting import greet
from rockhold.upkeep import program
from rockhold.upkeep.upkeep import Refused, Upkeep
from rockwire import messages as m
from rockwire import upkeep as u

OLDEST = (1, 24)  # DMA and state machines as the board's program uses them, littlefs without hangs
_STEP_S = 600.0  # an emulated board takes its time

_ASK = (
    "import sys, os; print('rockhold-asks', sys.implementation.version[0], "
    "sys.implementation.version[1], sys.implementation._machine)"
)


@dataclass(frozen=True, slots=True)
class Machine:
    """A board that runs MicroPython.

    Attributes:
        version: Of MicroPython: major, minor.
        name: What it says of itself.
    """

    version: tuple[int, int]
    name: str


class Mpremote:
    """Runs mpremote on one port.

    Args:
        port: The board's serial port.
    """

    def __init__(self, port: str) -> None:
        self.port = port

    def __call__(self, *arguments: str) -> str:
        """Run mpremote and return what the board printed.

        Raises:
            NoBoardError: When it fails; with its last words.
        """
        command = [sys.executable, "-m", "mpremote", "connect", self.port, *arguments]
        try:
            done = subprocess.run(
                command, capture_output=True, text=True, timeout=_STEP_S, check=False
            )
        except subprocess.TimeoutExpired as error:
            raise NoBoardError(
                f"the board on {self.port} does not answer mpremote. Hold its button while you "
                "plug it in: then its program does not start, and try again"
            ) from error
        if done.returncode:
            raise NoBoardError(_not_done(self.port, (done.stderr or done.stdout).strip()))
        return done.stdout


def _not_done(port: str, words: str) -> str:
    """Return the sentence about a board on which mpremote failed, with what to do."""
    last = words.splitlines()[-1] if words else "it says nothing"
    last = last.removeprefix("mpremote.transport.TransportError: ")
    if "raw repl" in last:
        return (
            f"no MicroPython answers on {port}. Is it on the board yet? Its maker's page says how "
            "to put it there. If a program of the board keeps it busy, hold the board's button "
            f"while you plug it in, then try again (mpremote: {last})"
        )
    return (
        f"mpremote cannot do its work on {port}: {last}. Unplug the board, plug it in with its "
        "button held, and try again"
    )


def free_console(port: str) -> None:
    """Make a board that runs our program give its console back; others are left as they are."""
    link = SerialLink(port)
    try:
        greet(link)
        Upkeep(link).ask(m.Done, u.Leave)
    except Refused as error:
        raise NoBoardError(f"{error}. End the recording first") from error
    except LinkError:
        return  # no program of ours: mpremote gets in by itself
    finally:
        link.close()
    time.sleep(0.5)  # the program ends, the console comes up


def identify(run: Callable[..., str]) -> Machine:
    """Return which MicroPython runs there.

    Raises:
        NoBoardError: When it is too old, or does not say.
    """
    for row in run("exec", _ASK).splitlines():
        words = row.split(maxsplit=3)
        if len(words) == 4 and words[0] == "rockhold-asks":
            machine = Machine((int(words[1]), int(words[2])), words[3])
            if machine.version < OLDEST:
                raise NoBoardError(
                    f"the board runs MicroPython {words[1]}.{words[2]}; rockhold needs "
                    f"{OLDEST[0]}.{OLDEST[1]} or newer. Put a newer image on it, then "
                    "set it up again"
                )
            return machine
    raise NoBoardError(
        "the board does not say which MicroPython it runs; is it MicroPython at all?"
    )


def put_program(run: Callable[..., str], board: str, settings: str | None) -> None:
    """Copy the board's program, its settings and what starts it.

    Args:
        run: Runs mpremote.
        board: Name of the file in rockboard/boards.
        settings: JSON text, None to leave what is there.
    """
    with tempfile.TemporaryDirectory(prefix="rockhold-setup-") as name:
        stage = Path(name)
        program.stage(board, stage)
        (stage / "main.py").write_text(starter(board), encoding="utf-8")
        extra = ["main.py"]
        if settings is not None:
            (stage / "settings.json").write_text(settings, encoding="utf-8")
            extra.append("settings.json")
        run("fs", "cp", "-r", str(stage / "rockwire"), str(stage / "rockboard"), ":")
        for file in extra:
            run("fs", "cp", str(stage / file), f":{file}")


_MAIN = """\
# Starts the rockhold board. Hold the button while the power comes to get the console instead.
import sys

if sys.implementation.version[:2] < {oldest}:
    print("rockhold: this MicroPython is older than {oldest[0]}.{oldest[1]}; put a newer one on it")
else:
    from rockboard.boards.{board} import main

    main()
"""


def starter(board: str, oldest: tuple[int, int] = OLDEST) -> str:
    """Return the main.py of a board: it looks at MicroPython's age before it loads anything."""
    return _MAIN.format(board=board, oldest=oldest)


def refused_settings(port: str, wait_s: float) -> str:
    """Return what the board's program finds wrong with its settings, "" for nothing.

    Args:
        port: The board's serial port.
        wait_s: How long it may take to answer.

    Raises:
        LinkError: When it does not answer.
    """
    link = SerialLink(port)
    try:
        health = Upkeep(link, patience_s=wait_s).ask(u.HealthReply, u.Health)
    finally:
        link.close()
    if health.settings != u.SETTINGS_UNUSABLE:
        return ""  # what else is wrong with the board, `board check` says
    return str(bytes(health.data), "utf-8", "replace")


def wait_for_program(port: str, wait_s: float) -> m.Ident:
    """Wait until the board's program answers after a reset, and return who it is.

    Args:
        port: The board's serial port; it may go away and come back.
        wait_s: How long the board may take.

    Raises:
        NoBoardError: When it does not come up.
    """
    end_s = time.monotonic() + wait_s
    while True:
        left_s = end_s - time.monotonic()
        try:
            link = SerialLink(port)
            try:
                return Upkeep(link, patience_s=max(1.0, left_s)).ask(m.Ident, m.Hello)
            finally:
                link.close()
        except LinkError as error:
            if left_s <= 0:
                raise NoBoardError(
                    f"the board's program does not come up on {port} ({error}). Look at what it "
                    "prints: mpremote connect " + port
                ) from error
            time.sleep(0.5)

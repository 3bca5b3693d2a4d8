"""`rockhold board setup`: the program onto the board, its key trusted, its radio key agreed."""

import json
import secrets
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.errors import RockholdError, UsageError
from rockhold.evidence.keyfile import fingerprint_of, thumbprint_of
from rockhold.evidence.keys import BOARD, home, trust_key
from rockhold.links.serial_port import find_ports
from rockhold.upkeep import setup as s
from rockhold.upkeep.machines import CHIPS, board_named
from rockwire.guard import KEY_SIZE


@click.command()
@click.option("--port", help="Serial port of the board; else the only USB serial port.")
@click.option("--board", type=click.Choice(CHIPS), help="Which pins.")
@click.option("--name", metavar="TEXT", help="The board's name; stored in its settings.")
@click.option(
    "--settings",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Settings for the board (JSON).",
)
@click.option(
    "--wait-s", type=float, default=30, show_default=True, help="How long it may take to start."
)
def setup(
    port: str | None, board: str | None, name: str | None, settings: Path | None, wait_s: float
) -> int:
    """Put the program on a board with MicroPython, and trust its key.

    Do it over the board's own cable, in your own shop: whose board you set up is whose captures you
    will trust. Captures on the board stay. Running it again brings a newer program.

    Example: rockhold board setup --name "bay 3"
    """
    port = port or _only_port()
    text = _settings_text(name, settings)
    s.free_console(port)
    run = s.Mpremote(port)
    machine = s.identify(run)
    board = board or board_named(machine.name)
    click.echo(f"MicroPython {machine.version[0]}.{machine.version[1]} on {machine.name}: {board}.")
    click.echo("Copying the program; this takes a minute …")
    s.put_program(run, board, text)
    radio_key = _new_radio_key(run)
    run("reset")
    who = s.wait_for_program(port, wait_s)
    if not any(who.public_key):
        raise RockholdError(f"the board on {port} made no key. Set it up again")
    trust_key(who.public_key, who.name, BOARD)
    keep_radio_key(who.board_id, radio_key)
    fingerprint = fingerprint_of(thumbprint_of(who.public_key))
    click.echo(
        f'Board {who.board_id.hex()} "{who.name}" is set up; its key {fingerprint} is trusted.'
    )
    wrong = s.refused_settings(port, wait_s)
    if wrong:
        raise UsageError(
            f"the board is set up, but runs on its defaults; it cannot use its settings: {wrong}. "
            "Put that right, then store them: rockhold board settings FILE"
        )
    click.echo("Now look it over: rockhold board check")
    return exits.OK


def _new_radio_key(run: s.Mpremote) -> bytes:
    key = secrets.token_bytes(KEY_SIZE)
    run("exec", f"f=open('radio.key','wb'); f.write(bytes.fromhex('{key.hex()}')); f.close()")
    # No command was ever sent with the new key, so the counter begins anew.
    run("exec", "import os; [os.remove(x) for x in os.listdir() if x == 'radio.counter']")
    return key


def keep_radio_key(board_id: bytes, key: bytes) -> Path:
    """Keep the key of a board's radio on this computer, readable by its user alone."""
    path = home() / "radio" / f"{board_id.hex()}.key"
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        path.touch(mode=0o600)
        path.write_text(key.hex() + "\n", encoding="ascii")
    except OSError as error:
        raise RockholdError(f"the radio key cannot be kept in {path}: {error}") from error
    return path


def json_text(file: Path) -> str:
    """Return the text of a settings file.

    Raises:
        UsageError: When it cannot be read, or is no JSON; says where.
    """
    try:
        text = file.read_text(encoding="utf-8")
        json.loads(text)
    except json.JSONDecodeError as error:
        raise UsageError(
            f"{file} is no JSON, line {error.lineno}, column {error.colno}: {error.msg}"
        ) from error
    except UnicodeError as error:
        raise UsageError(f"{file} is no UTF-8 text. Save it as UTF-8 in your editor") from error
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror}") from error
    return text


def _settings_text(name: str | None, file: Path | None) -> str | None:
    if file is None and name is None:
        return None
    settings = json.loads(json_text(file)) if file else {}
    if not isinstance(settings, dict):
        raise UsageError(f"{file} must hold one JSON object")
    if name is not None:
        settings["name"] = name
    return json.dumps(settings)


def _only_port() -> str:
    ports = find_ports()
    if len(ports) == 1:
        return ports[0].device
    names = ", ".join(port.device for port in ports) or "none"
    raise UsageError(f"name the board's port with --port; USB serial ports here: {names}")

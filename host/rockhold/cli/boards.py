"""`rockhold boards`: which boards are there."""

import click

from rockhold.cli import exits
from rockhold.cli.jsonline import json_line
from rockhold.errors import LinkError
from rockhold.links.serial_port import PortInfo, SerialLink, find_ports
from rockhold.record.greeting import greet
from rockwire import messages as m


@click.command()
@click.option("--port", "ports", multiple=True, help="Look at this port only; may be repeated.")
@click.option("--radio", is_flag=True, help="Listen for boards over radio, too.")
@click.option(
    "--seconds",
    type=click.FloatRange(0.3, 60),
    default=4.0,
    show_default=True,
    help="How long to listen.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object per board, one per line.")
def command(ports: tuple[str, ...], radio: bool, seconds: float, as_json: bool) -> int:
    """List the boards on this computer's serial ports, and those within reach of its radio.

    Over radio a board says its name, what it is doing and its battery to everybody; record from it
    with `rockhold record --radio NAME`.

    Example: rockhold boards --radio
    """
    places = [PortInfo(port, "") for port in ports] or find_ports()
    rows = [_look(place) for place in places]
    _show(rows, as_json)
    if radio:  # after the others are shown: a computer without radio still has its cables
        heard = _heard(seconds)
        _show(heard, as_json)
        rows += heard
    if any(row["board"] for row in rows):
        return exits.OK
    if radio:
        click.echo(
            "No board is heard over radio. Switch it on and bring it nearer; only a board that was "
            "set up over its cable (rockhold board setup) speaks.",
            err=True,
        )
    elif not places:
        click.echo(
            "No USB serial port here. Plug the board in and try again, or listen with --radio.",
            err=True,
        )
    return exits.NO_BOARD


def _show(rows: list[dict[str, object]], as_json: bool) -> None:
    for row in rows:
        click.echo(json_line(row) if as_json else _sentence(row))


def _look(place: PortInfo) -> dict[str, object]:
    row: dict[str, object] = {"port": place.device, "description": place.description}
    try:
        link = SerialLink(place.device)
        try:
            who = greet(link)
        finally:
            link.close()
    except LinkError as error:
        return {**row, "board": None, "because": str(error)}
    return {
        **row,
        "board": who.board_id.hex(),
        "name": who.name,
        "state": m.STATES.get(who.state, "unknown"),
        "firmware": ".".join(str(part) for part in who.firmware),
        "records": who.frames,
    }


def _heard(seconds: float) -> list[dict[str, object]]:
    from rockhold.links.radio_scan import scan

    return [
        {
            "radio": board.address,
            "board": board.board_id,
            "name": board.name,
            "state": m.STATES[m.RECORDING if board.recording else m.READY],
            "serves_another": board.taken,
            "battery_mv": board.battery_mv or None,
            "signal_dbm": board.signal_dbm,
        }
        for board in scan(seconds)
    ]


def _sentence(row: dict[str, object]) -> str:
    if "radio" in row:
        battery = row["battery_mv"]
        taken = ", serves another computer" if row["serves_another"] else ""
        return (
            f'radio {row["radio"]}: board {row["board"]} "{row["name"]}", {row["state"]}{taken}, '
            f"battery {f'{int(str(battery)) / 1000:.2f} V' if battery else 'not known'}, "
            f"signal {row['signal_dbm']} dBm"
        )
    if not row["board"]:
        return f"{row['port']}: no board ({row['because']})"
    return (
        f'{row["port"]}: board {row["board"]} "{row["name"]}", {row["state"]}, '
        f"firmware {row['firmware']}"
    )

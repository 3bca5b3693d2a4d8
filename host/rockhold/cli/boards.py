"""`rockhold boards`: which boards are there."""

import json

import click

from rockhold.cli import exits
from rockhold.errors import LinkError
from rockhold.links.serial_port import PortInfo, SerialLink, find_ports
from rockhold.record.greeting import greet
from rockwire import messages as m


@click.command()
@click.option("--port", "ports", multiple=True, help="Look at this port only; may be repeated.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object per port, one per line.")
def command(ports: tuple[str, ...], as_json: bool) -> int:
    """List the boards on this computer's serial ports.

    Example: rockhold boards
    """
    places = [PortInfo(port, "") for port in ports] or find_ports()
    rows = [_look(place) for place in places]
    for row in rows:
        click.echo(json.dumps(row) if as_json else _sentence(row))
    if any(row["board"] for row in rows):
        return exits.OK
    if not places:
        click.echo("No USB serial port here. Plug the board in and try again.", err=True)
    return exits.NO_BOARD


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


def _sentence(row: dict[str, object]) -> str:
    if not row["board"]:
        return f"{row['port']}: no board ({row['because']})"
    return (
        f'{row["port"]}: board {row["board"]} "{row["name"]}", {row["state"]}, '
        f"firmware {row['firmware']}"
    )

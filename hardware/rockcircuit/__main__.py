"""`python -m rockcircuit COMMAND`: what `make hardware` runs, step by step."""

import sys
from collections.abc import Iterable
from pathlib import Path

import click

from rockboard.boards.pins import PINS
from rockcircuit import pin_table, rules, written
from rockcircuit.build import circuit_of
from rockcircuit.errors import HardwareError
from rockcircuit.processors import BOARDS

OUT = Path("out/hardware")


@click.group()
def main() -> None:
    """Check the hardware, and write what is made from it."""


@main.command()
def check() -> None:
    """Hold circuit, firmware's pin table, pictures, parts list and wiring against each other."""
    faults: list[str] = []
    for board in BOARDS:
        circuit = circuit_of(board)
        faults += rules.faults(circuit)
        faults += pin_table.faults(circuit, PINS[board])
        nets = len(circuit.nets())
        click.echo(f"{board}: {len(circuit.parts)} parts, {nets} nets looked at")
    faults += written.faults()
    _report(faults, "circuit, pin table, pictures, parts list and wiring agree")


@main.command()
def write() -> None:
    """Write pictures, parts list and wiring table from the circuit."""
    for path in written.write():
        click.echo(f"wrote {path}")


@main.command("second-opinion")
def second_opinion() -> None:
    """Let SKiDL judge the circuit, and write its netlist for KiCad."""
    from rockcircuit import skidl_check

    faults: list[str] = []
    OUT.mkdir(parents=True, exist_ok=True)
    for board in BOARDS:
        circuit = circuit_of(board)
        found, netlist = skidl_check.check(circuit)
        faults += found
        faults += skidl_check.legs(circuit)
        path = OUT / f"rockhold-{board}.net"
        path.write_text(netlist, encoding="utf-8")
        click.echo(f"wrote {path}")
    _report(faults, "SKiDL finds no fault, and the netlists read back are the circuit")


@main.command()
def simulate() -> None:
    """Run ngspice over every corner; about a minute."""
    from rockcircuit.spice import report

    text, faults = report.page()
    (written.HARDWARE / "simulation.md").write_text(text, encoding="utf-8")
    (written.HARDWARE / "pictures" / "edges.png").write_bytes(report.picture())
    click.echo(text)
    _report(faults, "every corner gives the right words, with room to spare")


@main.command()
def solids() -> None:
    """Make the printed parts, judge them, and draw the box; about two minutes."""
    from rockcircuit import solids as s

    lines, faults = s.make_all(OUT / "case")
    for line in lines:
        click.echo(line)
    s.picture(written.HARDWARE / "pictures" / "case.png")
    _report(faults, "each part is one watertight body that prints without support, and all fits")


def _report(faults: Iterable[str], well: str) -> None:
    rows = list(faults)
    for row in rows:
        click.echo(f"FAULT  {row}", err=True)
    if rows:
        sys.exit(1)
    click.echo(f"ok     {well}")


if __name__ == "__main__":
    try:
        main()
    except HardwareError as error:
        click.echo(f"rockcircuit: {error}", err=True)
        sys.exit(1)

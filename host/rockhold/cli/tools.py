"""`rockhold tools`: records of indicators, torque tools and transducers."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import click

from rockhold.capture.tooling import INDICATOR, KINDS
from rockhold.cli import exits
from rockhold.cli.complete import TOOLS
from rockhold.cli.jsonline import json_line
from rockhold.errors import OutOfRangeError, ToolError, UsageError
from rockhold.measure.torque.adapters import setting as wrench_setting
from rockhold.measure.torque.uncertainty import class_mpe_percent
from rockhold.measure.trace import MM_PER_INCH
from rockhold.plain import plain
from rockhold.tools.record import ToolRecord, checked, due_after
from rockhold.tools.store import add_tool, folder, retire_tool, stored_tools, tool


class Day(click.ParamType[date]):
    """A day, written 2026-03-02."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day that a text names."""
        try:
            return value if isinstance(value, date) else date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no day; write it like 2026-03-02", param, ctx)


def today() -> date:
    """Return today, UTC, as captures count days."""
    return datetime.now(UTC).date()


def job_tools(
    tool_ids: tuple[str, ...], say: Callable[[str], None]
) -> tuple[dict[str, object], ...]:
    """Return the header entries of the tools for a job, and say which are overdue.

    Args:
        tool_ids: Their ids.
        say: Called with a sentence for each overdue tool.

    Raises:
        ToolError: When a tool is not known, damaged or retired.
    """
    from rockhold.tools.store import tool_for_job

    records = [tool_for_job(tool_id) for tool_id in dict.fromkeys(tool_ids)]
    for record in records:
        if warning := record.why_overdue(today()):
            say(warning)
    return tuple(record.facts() for record in records)


@click.group()
def command() -> None:
    """Keep what the certificates of your indicators and torque tools say, and till when.

    `rockhold record --tool ID` puts a tool into a capture: its limit of error goes into the
    uncertainty, and a calibration that has run out is said before the job and in the result.

    Example: rockhold tools list
    """


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per tool and line.")
def list_tools(as_json: bool) -> int:
    """List the tools.

    Example: rockhold tools list
    """
    store = stored_tools()
    for record in store.tools:
        click.echo(json_line(_facts(record)) if as_json else _row(record))
    for complaint in store.damaged:
        click.echo(f"damaged: {plain(complaint)}", err=True)
    if not store.tools and not as_json:
        click.echo(f"No tools in {folder()}. Add one: rockhold tools add ID --kind indicator …")
    return exits.OK


@command.command()
@click.argument("tool_id", metavar="ID", shell_complete=TOOLS)
@click.option("--kind", required=True, type=click.Choice(KINDS), help="What it is.")
@click.option("--name", default="", help="What people call it.")
@click.option("--serial", default="", help="Serial number.")
@click.option("--certificate", default="", help="Number of the calibration certificate.")
@click.option("--calibrated-on", type=Day(), help="Day of the calibration.")
@click.option("--due-on", type=Day(), help="Last day it counts; else after --months.")
@click.option("--months", type=click.IntRange(1, 120), default=12, show_default=True)
@click.option("--cycles", type=click.IntRange(0), help="Uses since the calibration.")
@click.option("--step-mm", type=float, help="An indicator's count, in mm.")
@click.option("--step-in", type=float, help="An indicator's count, in inches.")
@click.option("--mpe-mm", type=float, help="An indicator's limit of error, in mm.")
@click.option("--mpe-in", type=float, help="An indicator's limit of error, in inches.")
@click.option("--resolution-nm", type=float, help="One step of a torque tool's digits, in N·m.")
@click.option("--mpe-percent", type=float, help="A torque tool's limit of error, in per cent.")
@click.option("--largest-nm", type=float, help="The largest torque it is made for, in N·m.")
@click.option("--again", is_flag=True, help="The tool was calibrated again.")
def add(
    tool_id: str,
    months: int,
    step_in: float | None,
    mpe_in: float | None,
    again: bool,
    **given: Any,
) -> int:
    """Add a tool under a short ID of your own.

    A torque tool without --mpe-percent gets the limit of its class from --largest-nm: 6 % up to
    10 N·m, 4 % above.

    Example: rockhold tools add D3 --kind indicator --step-in 0.0005 --mpe-in 0.001
    --calibrated-on 2026-03-02
    """
    for name, inches in (("step_mm", step_in), ("mpe_mm", mpe_in)):
        if inches is not None:
            given[name] = inches * MM_PER_INCH
    if given["calibrated_on"] and not given["due_on"]:
        given["due_on"] = due_after(given["calibrated_on"], months)
    largest = given["largest_nm"]
    if given["kind"] != INDICATOR and given["mpe_percent"] is None and largest and largest > 0:
        given["mpe_percent"] = class_mpe_percent(largest)
    record = checked(given, tool_id)
    path = add_tool(record, again)
    click.echo(f"Kept: {_row(record)}")
    click.echo(f"File: {path}")
    return exits.OK


@command.command()
@click.argument("tool_id", metavar="ID", shell_complete=TOOLS)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def show(tool_id: str, as_json: bool) -> int:
    """Show all that is known of the tool ID.

    Example: rockhold tools show D3
    """
    record = tool(tool_id)
    if as_json:
        click.echo(json_line(_facts(record)))
        return exits.OK
    for name, value in record.facts().items():
        click.echo(plain(f"{name:<16} {value}"))
    if warning := record.why_overdue(today()):
        click.echo(plain(warning))
    return exits.OK


@command.command()
@click.argument("tool_id", metavar="ID", shell_complete=TOOLS)
@click.option("--because", required=True, metavar="TEXT", help="Why; kept with the tool.")
def retire(tool_id: str, because: str) -> int:
    """Take the tool ID out of use. Its record stays.

    Example: rockhold tools retire D3 --because "plunger bent"
    """
    if not because.strip() or not because.isprintable():
        raise ToolError("--because needs a text that can be printed")
    click.echo(f"Retired: {_row(retire_tool(tool_id, today(), because))}")
    return exits.OK


@command.command()
@click.argument("torque", type=float)
@click.option(
    "--lever", type=float, required=True, help="From the drive to the middle of the grip."
)
@click.option("--extension", type=float, required=True, help="Adapter, from the drive to the nut.")
@click.option(
    "--angle", type=float, default=0.0, show_default=True, help="Adapter to wrench, in degrees."
)
def setting(torque: float, lever: float, extension: float, angle: float) -> int:
    """Say what to set a wrench to so that the nut gets TORQUE through an adapter.

    The answer has the unit of TORQUE; --lever and --extension are in one unit of length. Straight
    on is 0 degrees, pointing back over the wrench 180; at 90 nothing changes.

    Example: rockhold tools setting 200 --lever 18 --extension 2
    """
    try:
        value = wrench_setting(torque, lever, extension, angle)
    except OutOfRangeError as error:
        raise UsageError(str(error)) from error
    click.echo(f"Set the wrench to {value:.1f} for {torque:g} at the nut.")
    return exits.OK


def _row(record: ToolRecord) -> str:
    if record.kind == INDICATOR:
        limit = "no limit of error" if record.mpe_mm is None else f"±{record.mpe_mm:g} mm"
    else:
        limit = "no limit of error" if record.mpe_percent is None else f"±{record.mpe_percent:g} %"
    state = "never calibrated"
    if record.retired_on is not None:
        state = f"retired {record.retired_on.isoformat()}: {record.retired_because}"
    elif record.due_on is not None:
        state = f"due {record.due_on.isoformat()}"
    if record.retired_on is None and record.overdue(today()):
        state += ", OVERDUE"
    serial = f"serial {record.serial}" if record.serial else "no serial number"
    return plain(f"{record.id:<10}  {record.kind:<11}  {serial:<22}  {limit:<18}  {state}")


def _facts(record: ToolRecord) -> dict[str, object]:
    return record.facts() | {"overdue": record.overdue(today())}

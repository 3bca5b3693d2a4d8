"""The command line: a thin skin over the library; each command lives in a file of its own.

Commands are imported only when they run, so that `rockhold --help` stays quick.
"""

import importlib
import os
import sys

import click

from rockhold import __version__, errors
from rockhold.cli import exits
from rockhold.cli.widths import for_a_screen

# name → (module, one line for the list of commands)
COMMANDS = {
    "demo": ("rockhold.cli.demo", "Play the whole job with no hardware."),
    "practice": ("rockhold.cli.practice", "Keep a simulated board here, to practise at."),
    "boards": ("rockhold.cli.boards", "List the boards on this computer."),
    "board": ("rockhold.cli.board", "Set a board up, check it, fetch what it recorded alone."),
    "record": ("rockhold.cli.record", "Record one wheel end, measure it and seal it."),
    "procedures": ("rockhold.cli.procedures", "The ordered steps that a guided job follows."),
    "measure": ("rockhold.cli.measure", "Compute the end play from captures or CSV traces."),
    "export": ("rockhold.cli.export", "Write readings, steps or results as CSV, JSON or Parquet."),
    "plot": ("rockhold.cli.plot", "Draw a trace with its holds, levels and findings."),
    "report": ("rockhold.cli.report", "Write a page about a capture, to read, print and pass on."),
    "verify": ("rockhold.cli.verify", "Check that captures are untouched, and by whom sealed."),
    "seal": ("rockhold.cli.seal", "Finish a capture that was cut short or left unsealed."),
    "review": ("rockhold.cli.review", "Accept or reject a capture, signed."),
    "library": ("rockhold.cli.library", "Find captures again, follow a wheel end over its life."),
    "study": ("rockhold.cli.study", "Say what people and gauge together can measure."),
    "tools": ("rockhold.cli.tools", "Keep records of indicators and torque tools."),
    "keys": ("rockhold.cli.keys", "Make your own keys, and say whose keys you trust."),
}


class LazyGroup(click.Group):
    """A group that imports a command's module when the command is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return a command, or None when there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(COMMANDS[cmd_name][0])
        command = module.command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, and of a mistyped one say which may be meant."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            from difflib import get_close_matches  # only who slips waits for it

            near = get_close_matches(name, COMMANDS, n=1)
            hint = f"Did you mean '{near[0]}'?" if near else "`rockhold --help` lists them."
            ctx.fail(f"No such command '{name}'. {hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="rockhold")
def cli() -> None:
    """Capture, measure and prove the end play of heavy-vehicle wheel bearings.

    The tool measures; people decide. The maker's instructions, the fleet's rules and the law
    come first.

    Example: rockhold demo
    """


def main() -> None:
    """Run the command line and turn every known error into one sentence and an exit code."""
    try:
        status = cli(standalone_mode=False)
        sys.exit(status if isinstance(status, int) else exits.OK)
    except click.exceptions.Exit as stop:
        sys.exit(stop.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        sys.exit(exits.INTERRUPTED)
    except errors.RockholdError as error:
        click.echo(for_a_screen(f"rockhold: {error}", sys.stderr), err=True)
        sys.exit(exits.code_for(error))
    except BrokenPipeError:
        # The reader of our output went away (for example `| head`); that is no fault.
        sys.stderr.close()
        sys.exit(exits.OK)
    except Exception as error:
        # Nobody should have to read a traceback; who mends rockhold can ask for it.
        if os.environ.get("ROCKHOLD_TRACEBACK"):
            raise
        click.echo(
            f"rockhold: a fault of rockhold itself: {type(error).__name__}: {error}. Set "
            "ROCKHOLD_TRACEBACK=1, run it again and report what it prints",
            err=True,
        )
        sys.exit(exits.INTERNAL)

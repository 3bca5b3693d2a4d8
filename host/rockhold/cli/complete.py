"""What the shell offers when a person presses TAB behind an option: names that are here."""

import os
from collections.abc import Callable, Iterable

import click
from click.shell_completion import CompletionItem

_Complete = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def _offering(names: Callable[[], Iterable[str]], files_too: bool = False) -> _Complete:
    """Return what offers those of some names that begin as the word does."""

    def complete(
        context: click.Context, parameter: click.Parameter, begun: str
    ) -> list[CompletionItem]:
        files = [CompletionItem(begun, type="file")] if files_too else []
        fitting = [name for name in dict.fromkeys(names()) if name.startswith(begun)]
        return files + [CompletionItem(_for_shell(name)) for name in fitting]

    return complete


def _for_shell(name: str) -> str:
    """Return a name as the shell puts it into the line.

    Only bash leaves the quoting to us; click's script for it reads a backslash away, so it takes
    two.
    """
    line = os.environ.get("COMP_WORDS", "")
    in_quotes = line.count('"') % 2 or line.count("'") % 2
    if os.environ.get("_ROCKHOLD_COMPLETE") != "bash_complete" or in_quotes:
        return name
    return "".join(c if c.isalnum() or c in "-_./:@" else f"\\\\{c}" for c in name)


def _procedures() -> Iterable[str]:
    from rockhold.procedure.load import shipped_names

    return shipped_names()


def _bases() -> Iterable[str]:
    from rockhold.procedure.load import find_text, is_guided

    return [name for name in _procedures() if is_guided(*find_text(name))]


def _tools() -> Iterable[str]:
    from rockhold.tools.store import stored_tools

    return [tool.id for tool in stored_tools().tools]


def _own_keys(role: str) -> Callable[[], Iterable[str]]:
    def names() -> Iterable[str]:
        from rockhold.evidence.keys import stored_keys

        keys = [stored for stored in stored_keys().keys if stored.own]
        return [stored.record.name for stored in keys if stored.record.role == role]

    return names


def _all_keys() -> Iterable[str]:
    from rockhold.evidence.keys import stored_keys

    return [stored.record.name for stored in stored_keys().keys]


def _findings() -> Iterable[str]:
    from rockhold.measure.findings import TEXTS

    return sorted(TEXTS)


PROCEDURES = _offering(_procedures, files_too=True)
BASES = _offering(_bases)
TOOLS = _offering(_tools)
TECHNICIANS = _offering(_own_keys("technician"))
REVIEWERS = _offering(_own_keys("reviewer"))
KEYS = _offering(_all_keys)
FINDINGS = _offering(_findings)
JUDGED_BY = click.option(
    "--procedure",
    metavar="NAME",
    shell_complete=PROCEDURES,
    help="Judge by this one: a name of `procedures list`, or a TOML file; else by what the file "
    "says itself, or the shipped one.",
)

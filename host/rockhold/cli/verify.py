"""`rockhold verify`: is a capture untouched, and who answers for it."""

import json
import sys
from pathlib import Path

import click

from rockhold.cli import exits
from rockhold.errors import UsageError
from rockhold.evidence import findings as f
from rockhold.evidence.archive import files_in, verify_all
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import trust_of
from rockhold.evidence.words import in_full, one_line

CODES = {
    f.GOOD: exits.OK,
    f.UNSEALED: exits.UNSEALED,
    f.UNKNOWN_KEY: exits.UNKNOWN_KEY,
    f.UNREADABLE: exits.BAD_FILE,
    f.NOT_REPRODUCED: exits.NOT_REPRODUCED,
    f.DAMAGED: exits.BAD_EVIDENCE,
}
_FULL_UP_TO = 3  # so many files are shown in full, more of them in a line each


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per file and line.")
def command(files: tuple[Path, ...], as_json: bool) -> int:
    """Check captures: untouched since they were sealed, by whom, and is the result right.

    FILES may be captures or folders of captures. Nothing is changed.

    Exit code: 0 good, 9 not sealed to the end by person and board, 10 a key that you do not trust,
    11 damaged, 12 the readings give another result, 13 not readable. Of several faults, or files,
    the worst counts: 11, 12, 13, 10, 9, 0.

    Example: rockhold verify left-front.capture
    """
    paths = files_in(files)
    if not paths:
        raise UsageError(f"no captures in {', '.join(str(place) for place in files)}")
    store = stored_keys()
    for path, reason in store.damaged:
        click.echo(
            f"The key file {path} is damaged ({reason}); its key counts as unknown.", err=True
        )
    states = dict.fromkeys(f.ORDER, 0)
    shown = sys.stderr.isatty() and len(paths) > _FULL_UP_TO
    with click.progressbar(
        length=len(paths), label="Verifying", file=sys.stderr, hidden=not shown
    ) as bar:
        for found in verify_all(paths, trust_of(store)):
            states[found.state] += 1
            bar.update(1)
            if as_json:
                click.echo(json.dumps(found.to_json(), ensure_ascii=False))
            elif len(paths) <= _FULL_UP_TO:
                click.echo(in_full(found))
            elif not (shown and sys.stdout.isatty() and found.state == f.GOOD):
                click.echo(one_line(found))
    if len(paths) > 1 and not as_json:
        counts = ", ".join(
            f"{count} {state.replace('_', ' ')}" for state, count in states.items() if count
        )
        click.echo(f"{len(paths)} files: {counts}.")
    return CODES[f.worst(state for state, count in states.items() if count)]

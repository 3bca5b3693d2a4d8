"""`rockhold verify`: is a capture untouched, and who answers for it."""

import sys
from contextlib import nullcontext
from functools import partial
from pathlib import Path

import click

from rockhold.bulk.donelist import DoneList
from rockhold.capture.folders import captures_in
from rockhold.cli import exits
from rockhold.cli.bulk import DONE_LIST, BulkRun
from rockhold.cli.jsonline import json_line
from rockhold.evidence import findings as f
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import trust_of
from rockhold.evidence.verify import verify_file
from rockhold.evidence.words import SHORT, in_full, one_line

CODES = {
    f.GOOD: exits.OK,
    f.UNSEALED: exits.UNSEALED,
    f.UNKNOWN_KEY: exits.UNKNOWN_KEY,
    f.UNREADABLE: exits.BAD_FILE,
    f.NEWER: exits.BAD_FILE,
    f.NOT_REPRODUCED: exits.NOT_REPRODUCED,
    f.DAMAGED: exits.BAD_EVIDENCE,
}
_FULL_UP_TO = 3  # so many files are shown in full, more of them in a line each


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object per file and line.")
@DONE_LIST
def command(files: tuple[Path, ...], as_json: bool, done_list: Path | None) -> int:
    """Check captures: untouched since they were sealed, by whom, and is the result right.

    FILES may be captures or folders of captures. Nothing is changed.

    Exit code: 0 good, 9 not sealed to the end by person and board, 10 a key that you do not trust,
    11 damaged, 12 the readings give another result, 13 not readable. Of several faults, or files,
    the worst counts: 11, 12, 13, 10, 9, 0.

    Example: rockhold verify left-front.capture
    """
    paths = captures_in(files)
    store = stored_keys()
    for path, reason in store.damaged:
        click.echo(
            f"The key file {path} is damaged ({reason}); its key counts as unknown.", err=True
        )
    states = dict.fromkeys(f.ORDER, 0)
    terse = sys.stderr.isatty() and sys.stdout.isatty()
    trust = trust_of(store)
    what = {"done": "verify", "trusting": repr(sorted(trust.items()))}
    with nullcontext() if done_list is None else DoneList(done_list, what) as done:
        run: BulkRun[f.Verification] = BulkRun("Verifying", paths, done)
        for found in run.results(partial(verify_file, trust=trust), f.not_examined):
            states[found.state] += 1
            if as_json:
                click.echo(json_line(found.to_json()))
            elif len(paths) <= _FULL_UP_TO:
                click.echo(in_full(found))
            elif not (terse and found.state == f.GOOD):
                click.echo(one_line(found))
            run.done(Path(found.file), CODES[found.state])
    before = run.codes_before()
    if len(paths) > 1 and not as_json:
        counts = ", ".join(f"{count} {SHORT[state]}" for state, count in states.items() if count)
        click.echo(f"{run.count} files: {counts or 'nothing to do'}.{run.words_of_before()}")
    if run.stopped:
        return exits.INTERRUPTED
    worst = [state for state in f.ORDER if states[state] or CODES[state] in before]
    return CODES[f.worst(worst)]

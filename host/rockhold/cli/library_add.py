"""`rockhold library add` and `rebuild`: bring captures into the index."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rockhold.capture.folders import captures_in, files_in, is_gone
from rockhold.cli import exits
from rockhold.cli.bulk import BulkRun
from rockhold.cli.jsonline import json_line
from rockhold.cli.library_options import AS_JSON, INDEX
from rockhold.errors import UsageError
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.library.adding import Added
    from rockhold.library.facts import Facts
    from rockhold.library.index import Library

_BATCH = 100
VERIFY = click.option(
    "--verify",
    is_flag=True,
    help="Compute each result anew, too, and compare. Takes about three times as long.",
)


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@INDEX
@VERIFY
@AS_JSON
def add(files: tuple[Path, ...], index: str | None, verify: bool, as_json: bool) -> int:
    """Add FILES, captures or folders of captures, to the index.

    A file that is known and unchanged is passed over, so the same command again goes on where a
    stopped one was. A file that moved keeps its entry; a damaged one is listed as damaged. All
    signatures are checked, people's and the board's; whether the readings give the stated result
    only with --verify.

    Exit code: 0 all added; 11 or 13 added, but some are damaged or not readable.

    Example: rockhold library add captures/ --verify
    """
    from rockhold.library.index import open_library
    from rockhold.library.known import remember_places, unknown_of

    paths = captures_in(files)
    with open_library(index) as library:
        remember_places(library, files)
        pick = partial(unknown_of, library, verified=verify)
        return _add_all(library, paths, verify, as_json, pick)


@click.command()
@click.argument("places", nargs=-1, type=click.Path(exists=True, path_type=Path))
@INDEX
@VERIFY
@AS_JSON
def rebuild(places: tuple[Path, ...], index: str | None, verify: bool, as_json: bool) -> int:
    """Read all files again, and drop entries whose file is gone.

    Looks where captures were added from before, and in PLACES. Captures are never touched. On a
    shared index only the entries of this computer are looked at.

    Example: rockhold library rebuild
    """
    from rockhold.library.cleaning import all_paths, drop_gone
    from rockhold.library.index import open_library
    from rockhold.library.known import places_of, remember_places

    with open_library(index) as library:
        remember_places(library, places)
        folders = list(dict.fromkeys((*places_of(library), *places)))
        found = {path.absolute() for path in files_in([p for p in folders if not is_gone(p)])}
        paths = sorted(found | {path for path in all_paths(library) if not is_gone(path)})
        if not paths and not folders:
            raise UsageError("nothing was added here before; say which folders: rebuild FOLDER…")
        code = _add_all(library, paths, verify, as_json, None)
        if code != exits.INTERRUPTED:
            for path in drop_gone(library):
                click.echo(f"{plain(str(path))}: gone, its entry is dropped", err=True)
    return code


def _add_all(
    library: "Library",
    paths: Sequence[Path],
    verify: bool,
    as_json: bool,
    pick: Callable[[Sequence[Path]], Iterator[Path]] | None,
) -> int:
    from rockhold.library.adding import SAME, write_batch
    from rockhold.library.facts import facts_of_lost, read_facts

    unnamed = [path for path in paths if not _is_text(path)]
    for path in unnamed:
        click.echo(
            f"{plain(str(path))}: its name is not UTF-8, so the index cannot hold it; rename it",
            err=True,
        )
    paths = [path for path in paths if _is_text(path)]
    run: BulkRun[Facts] = BulkRun("Adding", paths)
    deeds: Counter[str] = Counter()
    states: Counter[str] = Counter()
    for batch in _batches(run.results(partial(read_facts, verify=verify), facts_of_lost, pick)):
        for added in write_batch(library, batch):
            deeds[added.deed] += 1
            states[added.state] += 1
            if as_json:
                click.echo(json_line(_object(added)))
            elif added.sentence:
                click.echo(f"{plain(added.path)}: {plain(added.sentence)}")
    deeds[SAME] += run.passed_over
    if not as_json:
        click.echo(_in_words(len(paths), deeds, states, library.where))
    if run.stopped:
        return exits.INTERRUPTED
    if states["damaged"] or states["not_reproduced"]:
        return exits.BAD_EVIDENCE
    return exits.BAD_FILE if states["unreadable"] or unnamed else exits.OK


def _is_text(path: Path) -> bool:
    """Say whether a path is text, as an index needs it; a disk takes any bytes as a name."""
    try:
        str(path).encode()
    except UnicodeEncodeError:
        return False
    return True


def _batches(facts: Iterator["Facts"]) -> Iterator[list["Facts"]]:
    while batch := list(islice(facts, _BATCH)):
        yield batch


def _object(added: "Added") -> dict[str, str]:
    return {
        "file": added.path,
        "deed": added.deed,
        "state": added.state,
        "sentence": added.sentence,
    }


_DEEDS = {
    "new": "new", "rival": "new with a capture id that is there already", "grown": "grown",
    "changed": "changed", "moved": "moved", "copy": "copies", "same": "known as they are",
}  # fmt: skip


def _in_words(total: int, deeds: Counter[str], states: Counter[str], where: str) -> str:
    parts = _counts((words, deeds[deed]) for deed, words in _DEEDS.items())
    bad = _counts((s.replace("_", " "), states[s]) for s in _BAD)
    tail = f" Of these: {bad}." if bad else ""
    return f"{total} files: {parts or 'nothing done'}.{tail} Index: {where}"


_BAD = ("unsealed", "not_reproduced", "damaged", "unreadable")


def _counts(pairs: Iterable[tuple[str, int]]) -> str:
    return ", ".join(f"{count} {words}" for words, count in pairs if count)

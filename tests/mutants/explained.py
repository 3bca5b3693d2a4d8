"""Mutants that change nothing anybody could observe, each with the reason.

explained.toml names them by source, function, the line's text and the change, so that an entry
outlives lines that move, and falls out as soon as the code it speaks of is another.
"""

import tomllib
from collections.abc import Iterator
from pathlib import Path

from changes import Place

FILE = Path(__file__).with_name("explained.toml")

Key = tuple[str, str, str, str]  # source, function, text of the line, change


def explained() -> dict[Key, str]:
    """Return the reason of each explained mutant."""
    entries = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return dict(_rows(entries))


def _rows(sources: dict[str, list[dict[str, object]]]) -> Iterator[tuple[Key, str]]:
    for source, entries in sources.items():
        for entry in entries:
            changes = entry["change"]
            assert isinstance(changes, list), f"{source}: change must be a list"
            for change in changes:
                key = (source, str(entry["function"]), str(entry["line"]), str(change))
                yield key, str(entry["because"])


def key_of(source: str, place: Place) -> Key:
    """Return what names a mutant in explained.toml."""
    return source, place.function, place.text, place.told

"""One procedure out of several files: a fleet's own numbers over the ones it is based on.

    based_on = "double-nut-drive"      all steps of that procedure, to be changed
    [[step]] include = "hub-cap"       all steps of that procedure, here
    [[step]] id = "final-back-off"     a step that is there: only the keys given here change
    [[step]] id = "…"  omit = true     it is left out, with `because`
    [[step]] id = "new"  after = "…"   a new step behind that one; else at the end

Each key remembers the file that it came from, so that an error can point at its line.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from rockhold.errors import ProcedureError
from rockhold.procedure.toml_lines import Path, line_of, parse

MOST_LEVELS = 5
MOST_STEPS = 100
# Of these keys one says what another could: an own one puts the other aside.
_EITHER = (
    {"torque_nm", "torque_lbfft", "torque_lbfin"},
    {"torque_nm", "torque_lbfft", "torque_lbfin", "within_percent"},
    {"band_mm", "band_in"},
    {"turn", "by_thread"},
)
_HEAD = {"format", "name", "title", "axle", "source", "caution", "based_on", "step"}
_WORDS_OF_MERGING = ("after", "omit", "because")


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands.

    Attributes:
        where: The file, for words.
        text: Its whole text.
        path: The way to the value.
    """

    where: str
    text: str
    path: Path

    def error(self, words: str) -> ProcedureError:
        """Return an error that names file and line."""
        line = line_of(self.text, self.path) or line_of(self.text, self.path[:2])
        return ProcedureError(f"{self.where}, line {max(line, 1)}: {words}")


@dataclass(slots=True)
class MergedStep:
    """A step's keys, and where each came from; `place` is its newest [[step]] table."""

    keys: dict[str, Any]
    place: Place
    origins: dict[str, Place] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """The step's id."""
        return str(self.keys.get("id", ""))

    def place_of(self, key: str) -> Place:
        """Return where a key stands, or its step where it is missing."""
        return self.origins.get(key, self.place)


@dataclass(slots=True)
class Merged:
    """A procedure's head and steps; `whole` when one file holds all of it."""

    head: dict[str, Any]
    steps: list[MergedStep]
    place: Place
    whole: bool


Find = Callable[[str], tuple[str, str]]  # name → (text, where); raises ProcedureError


def merge(document: Mapping[str, Any], text: str, where: str, find: Find, level: int = 0) -> Merged:
    """Return a procedure with all that it is based on and includes.

    Args:
        document: What the file holds.
        text: The text of the file, for the lines of errors.
        where: What the file is called in errors.
        find: Returns the text of a named procedure.
        level: How many files led here.

    Raises:
        ProcedureError: With file, line and key.
    """
    top = Place(where, text, ())
    _check_head(document, top)
    if level > MOST_LEVELS:
        raise Place(where, text, ("based_on",)).error(
            f"more than {MOST_LEVELS} procedures lie one upon another, or in a circle"
        )
    merged = Merged(dict(document), [], top, True)
    if "based_on" in document:
        base = _named(document["based_on"], Place(where, text, ("based_on",)), find, level)
        merged = Merged({**base.head, **document}, base.steps, top, False)
    for index, table in enumerate(document.get("step", [])):
        _take(merged, table, Place(where, text, ("step", index)), find, level)
    return merged


def _check_head(document: Mapping[str, Any], top: Place) -> None:
    if document.get("format") != 2:
        raise Place(top.where, top.text, ("format",)).error(
            f"format: must be 2 for a procedure of steps, is {document.get('format')!r}"
        )
    for key in document:
        if key not in _HEAD:
            raise Place(top.where, top.text, (key,)).error(
                f"{key}: unknown key; known are {', '.join(sorted(_HEAD))}"
            )
    steps = document.get("step", [])
    if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
        raise Place(top.where, top.text, ("step",)).error("step: write each step below [[step]]")
    if len(steps) > MOST_STEPS:
        raise ProcedureError(f"{top.where}: more than {MOST_STEPS} steps")


def _named(name: object, place: Place, find: Find, level: int) -> Merged:
    key = place.path[-1]
    if not isinstance(name, str):
        raise place.error(f"{key}: write the name of a procedure, is {name!r}")
    try:
        text, where = find(name)
    except ProcedureError as error:
        raise place.error(f"{key}: {error}") from error
    return merge(parse(text, where), text, where, find, level + 1)


def _take(merged: Merged, table: dict[str, Any], place: Place, find: Find, level: int) -> None:
    if "include" in table:
        if len(table) > 1:
            raise place.error("include: nothing else may stand in such a step")
        included = _named(table["include"], _at(place, "include"), find, level)
        merged.whole = False
        for step in included.steps:
            _add(merged.steps, step, None)
        return
    known = {step.id: step for step in merged.steps}
    old = known.get(str(table.get("id", "")))
    if old is None:
        _add_own(merged.steps, table, place)
    elif old.place.where == place.where:
        raise _at(place, "id").error(f"id: {old.id!r} stands twice in this file")
    elif table.get("omit") is True:
        _omit(merged.steps, old, table, place)
    else:
        _change(old, table, place)


def _at(place: Place, key: str) -> Place:
    return Place(place.where, place.text, (*place.path, key))


def _add_own(steps: list[MergedStep], table: dict[str, Any], place: Place) -> None:
    after = table.get("after")
    for key in ("omit", "because"):
        if key in table:
            raise _at(place, key).error(f"{key}: there is no step {table.get('id')!r} to leave out")
    keys = {key: value for key, value in table.items() if key != "after"}
    step = MergedStep(keys, place, {key: _at(place, key) for key in keys})
    _add(steps, step, None if after is None else (after, _at(place, "after")))


def _add(steps: list[MergedStep], step: MergedStep, after: tuple[object, Place] | None) -> None:
    if any(step.id == other.id for other in steps):
        raise step.place.error(f"id: there is a step {step.id!r} already")
    if after is None:
        steps.append(step)
        return
    for at, other in enumerate(steps):
        if other.id == after[0]:
            steps.insert(at + 1, step)
            return
    raise after[1].error(f"after: there is no step {after[0]!r} before this one")


def _omit(steps: list[MergedStep], old: MergedStep, table: Mapping[str, Any], place: Place) -> None:
    if set(table) != {"id", "omit", "because"} or not table["because"]:
        raise place.error('omit: needs id, omit = true and because = "…", and nothing else')
    steps.remove(old)


def _change(old: MergedStep, table: Mapping[str, Any], place: Place) -> None:
    if table.get("kind", old.keys.get("kind")) != old.keys.get("kind"):
        raise _at(place, "kind").error(
            f"kind: {old.id!r} is a {old.keys.get('kind')} step; leave it out and add another"
        )
    for key in _WORDS_OF_MERGING:
        if key in table:
            raise _at(place, key).error(f"{key}: has no place in a change to {old.id!r}")
    for group in _EITHER:
        if _own_of(group, table):
            for key in group - set(table):
                old.keys.pop(key, None)
                old.origins.pop(key, None)
    old.keys.update(table)
    old.origins.update({key: _at(place, key) for key in table})
    old.place = place


def _own_of(group: Iterable[str], table: Mapping[str, Any]) -> bool:
    """Say whether a table gives one of a group; a window makes within_percent superfluous."""
    given = [key for key in group if key in table and key != "within_percent"]
    if "within_percent" in group:
        return any(isinstance(table[key], list) for key in given)
    return bool(given)

"""The board's settings: a JSON file on its flash, checked word by word.

    {"name": "bay 3", "sources": [{"kind": "clocked24", "name": "indicator"}]}

A file that cannot be used never stops the board: it starts with its defaults, and the problem goes
into a capture as an event and to every host that asks (Health). A field is (name, default, check,
limits); the checks are the functions below. The sources' fields stand in sources/table.py.
"""

import json
import os

from .sources.table import KINDS, TABLE

LARGEST = 2_048  # bytes; bounds what a damaged file can take of the heap
MOST_SOURCES = 4

FIELDS = (
    ("name", "rockhold board", "text", (1, 24)),
    ("beeper", True, "flag", None),
    ("battery", False, "flag", None),  # whether a divider for measuring it is fitted
    ("band_counts", 2, "whole", (0, 50)),
    ("settle_ms", 300, "whole", (100, 5_000)),
    ("hold_ms", 1_000, "whole", (300, 10_000)),
    ("gap_ms", 500, "whole", (100, 10_000)),
    ("cycles", 3, "whole", (2, 9)),
)
DEFAULT_SOURCES = ({"kind": "clocked24", "name": "indicator"},)

# How the file stands.
STORED = 0
DEFAULTS = 1  # there is no file
REFUSED = 2  # there is one, and it cannot be used


def _whole(value, limits):
    low, high = limits
    if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
        return "must be a whole number from %d to %d" % limits
    return None


def _flag(value, limits):
    return None if isinstance(value, bool) else "must be true or false"


def _choice(value, limits):
    # Equal is not enough: true is 1, and 1.0 is 1.
    for allowed in limits:
        if value == allowed and type(value) is type(allowed):
            return None
    return "must be one of " + ", ".join([str(allowed) for allowed in limits])


def _text(value, limits):
    low, high = limits
    if not isinstance(value, str) or not low <= len(value.encode()) <= high:
        return "must be a text of %d to %d bytes" % limits
    return None


def _pattern(value, limits):
    problem = _text(value, limits)
    if problem:
        return problem
    from .sources.line_pattern import split_pattern

    try:
        split_pattern(value)
    except ValueError as error:
        return str(error)
    return None


def _span(value, limits):
    if value is None:
        return None
    if isinstance(value, list) and len(value) == 2:
        counts, steps = value
        if not _whole(counts, (1, 10**9)) and not _whole(steps, (-(1 << 24), 1 << 24)) and steps:
            return None
    return "must be [counts above 0, converter steps other than 0], or left out"


_CHECKS = {
    "whole": _whole,
    "flag": _flag,
    "choice": _choice,
    "text": _text,
    "pattern": _pattern,
    "span": _span,
}


def check(data, roles):
    """Return (settings, problems): the settings with all defaults filled in, and sentences.

    Args:
        data: What the JSON text holds.
        roles: Role → pin number of this board (boards/pins.py).
    """
    problems = []
    if not isinstance(data, dict):
        return None, ["the settings must be one JSON object"]
    data = dict(data)
    sources = data.pop("sources", list(DEFAULT_SOURCES))
    settings = _fill(data, FIELDS, "", problems)
    settings["sources"] = []
    if not isinstance(sources, list) or not 1 <= len(sources) <= MOST_SOURCES:
        problems.append("sources: must be a list of 1 to %d sources" % MOST_SOURCES)
        return settings, problems
    used = {}
    for index, source in enumerate(sources):
        where = "sources[%d]." % index
        settings["sources"].append(_source(source, where, roles, used, problems))
    return settings, problems


def _source(source, where, roles, used, problems):
    kind = source.get("kind") if isinstance(source, dict) else None
    if kind not in KINDS:
        problems.append(where + "kind: must be one of " + ", ".join(KINDS))
        return None
    source = dict(source)
    source.pop("kind")
    own = source.pop("pins", {})
    row = TABLE[KINDS.index(kind)]
    name = ("name", kind, "text", (1, 15))
    out = _fill(source, (name,) + row.fields, where, problems)
    out["kind"] = kind
    out["pins"] = _pins(own, row.pins, where + "pins", roles, used, problems)
    return out


def _pins(own, wanted, where, roles, used, problems):
    out = {}
    names = [pin for pin, _ in wanted]
    if not isinstance(own, dict) or [pin for pin in own if pin not in names]:
        problems.append(where + ": may name " + ", ".join(names))
        return out
    for pin, role in wanted:
        number = own.get(pin, roles.get(role))
        if _whole(number, (0, 48)):
            problems.append("%s.%s: this board has no pin for it; give a number" % (where, pin))
        elif number in used:
            problems.append("%s.%s: pin %d is taken by %s" % (where, pin, number, used[number]))
        else:
            used[number] = where + "." + pin
        out[pin] = number
    return out


def _fill(data, fields, where, problems):
    out = {}
    for name, default, kind, limits in fields:
        value = data.pop(name, default)
        problem = _CHECKS[kind](value, limits)
        if problem:
            problems.append("%s%s: %s, is %s" % (where, name, problem, json.dumps(value)))
            value = default
        out[name] = value
    for name in data:
        problems.append("%s%s: no such setting" % (where, name))
    return out


def read(text, roles):
    """Return (settings, problems) of a JSON text; settings are None when it is no JSON."""
    try:
        return check(json.loads(text), roles)
    except (ValueError, UnicodeError):
        return None, ["the settings are no JSON text"]


def load(roles, path: str):
    """Return (settings, state, problem); never raises, whatever the file holds.

    Args:
        roles: Role → pin number of this board.
        path: The file; "" for a board that has none.
    """
    plain, _ = check({}, roles)
    try:
        if os.stat(path)[6] > LARGEST:
            return plain, REFUSED, "the settings file has more than %d bytes" % LARGEST
        with open(path, "rb") as file:
            data = file.read()
    except OSError:
        return plain, DEFAULTS, ""
    try:
        settings, problems = read(str(data, "utf-8"), roles)
    except (ValueError, UnicodeError):
        settings, problems = None, ["the settings are no UTF-8 text"]
    if problems or settings is None:
        return plain, REFUSED, problems[0]
    return settings, STORED, ""


def store(text: str, roles, path: str):
    """Write settings that are in order; return None, or the sentences that say what is not.

    The text goes under another name first, so that a power cut leaves the old or the new.
    """
    if len(text.encode()) > LARGEST:
        return ["the settings must have at most %d bytes" % LARGEST]
    _, problems = read(text, roles)
    if problems:
        return problems
    with open(path + ".new", "w") as file:
        file.write(text)
    os.rename(path + ".new", path)
    return None

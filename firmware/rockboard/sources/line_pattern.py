"""Patterns that say how an instrument writes its lines, and reading a line after one.

    {value}  sign (or none), blanks, digits with at most one point or comma
    {unit}   letters of a unit; may be missing, then the setting `unit` says it
    {text}   anything, up to what the rest of the pattern needs
    blank    any number of blanks, none too
    other    itself

Examples: "{value}{unit}", "01A{value}", "T:{value} {unit} {text}".
"""

_VALUE, _UNIT, _TEXT = 0, 1, 2
_FIELDS = {"value": _VALUE, "unit": _UNIT, "text": _TEXT}


def split_pattern(pattern: str) -> list:
    """Return the pattern's parts: numbers for fields, one-character strings for the rest.

    Raises:
        ValueError: With a sentence that says what is wrong.
    """
    parts = []
    at = 0
    while at < len(pattern):
        if pattern[at] != "{":
            parts.append(pattern[at])
            at += 1
            continue
        end = pattern.find("}", at)
        name = pattern[at + 1 : end] if end > 0 else pattern[at:]
        if end < 0 or name not in _FIELDS:
            raise ValueError("'%s' is no field; use {value}, {unit} or {text}" % name)
        parts.append(_FIELDS[name])
        at = end + 1
    if parts.count(_VALUE) != 1:
        raise ValueError("it needs {value} once")
    return parts


class Reader:
    """Reads a line after a pattern, from left to right, without trying twice."""

    def __init__(self, parts: list) -> None:
        self._parts = parts

    def read(self, line: str):
        """Return (count, digits after the point, unit text), None when the line does not fit."""
        self._value = None
        self._unit = ""
        at = 0
        for index, part in enumerate(self._parts):
            if part == _VALUE:
                at = self._take_value(line, at)
            elif part == _UNIT:
                at = self._take_unit(line, at)
            elif part == _TEXT:
                at = self._skip_text(line, at, self._parts[index + 1 :])
            elif part == " ":
                at = _skip_blanks(line, at)
            else:
                at = at + 1 if line[at : at + 1] == part else -1
            if at < 0:
                return None
        if line[at:].strip() or self._value is None:
            return None
        return self._value + (self._unit,)

    def _take_value(self, line: str, at: int) -> int:
        at = _skip_blanks(line, at)
        negative = line[at : at + 1] == "-"
        if line[at : at + 1] in ("-", "+"):
            at = _skip_blanks(line, at + 1)
        digits, places = "", -1
        while at < len(line) and (line[at] in "0123456789" or (line[at] in ".," and places < 0)):
            if line[at] in ".,":
                places = 0
            else:
                digits += line[at]
                places += places >= 0
            at += 1
        if not digits or len(digits) > 9:
            return -1
        self._value = (-int(digits) if negative else int(digits), max(0, places))
        return at

    def _take_unit(self, line: str, at: int) -> int:
        at = begin = _skip_blanks(line, at)
        while at < len(line) and line[at] not in " 0123456789+,":
            at += 1
        self._unit = line[begin:at]
        return at

    def _skip_text(self, line: str, at: int, after: list) -> int:
        wanted = after[0] if after else None
        while at < len(line):
            if wanted == _VALUE and line[at] in "+-.0123456789":
                return at
            if isinstance(wanted, str) and line[at] == wanted:
                return at
            at += 1
        return at


def _skip_blanks(line: str, at: int) -> int:
    while at < len(line) and line[at] in " \t":
        at += 1
    return at

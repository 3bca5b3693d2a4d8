"""What is wrong with one key of a table, and the readers of single values that say so."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

_LARGEST = 1e6


class KeyFaultError(Exception):
    """Report one key; whoever knows file and line turns it into a ProcedureError.

    Attributes:
        key: The key that is at fault.
    """

    def __init__(self, key: str, words: str) -> None:
        super().__init__(f"{key}: {words}")
        self.key = key


def number(
    table: Mapping[str, Any], key: str, above: float | None = None, least: float = 0.0
) -> float:
    """Return a number of at least `least`, and above `above` where that is given."""
    value = table.get(key)
    if value is None:
        raise KeyFaultError(key, "is missing")
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise KeyFaultError(key, f"must be a number, is {value!r}")
    if above is not None and not value > above:
        raise KeyFaultError(key, f"must be above {above:g}, is {value}")
    if not least <= value < _LARGEST:
        raise KeyFaultError(key, f"must be {least:g} or more, is {value}")
    return float(value)


def whole(table: Mapping[str, Any], key: str, least: int = 0) -> int:
    """Return a whole number of at least `least`."""
    value = table.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value < _LARGEST:
        raise KeyFaultError(key, f"must be a whole number of {least} or more, is {value!r}")
    return value


def words(table: Mapping[str, Any], key: str, longest: int = 1000) -> str:
    """Return a text that is not empty and can be printed."""
    value = table.get(key)
    if value is None:
        raise KeyFaultError(key, "is missing")
    if not isinstance(value, str) or not value.strip():
        raise KeyFaultError(key, f"must be a text, is {value!r}")
    if len(value) > longest or not value.replace("\n", " ").isprintable():
        raise KeyFaultError(key, f"must be a printable text of at most {longest} characters")
    return value.strip()


def choice(table: Mapping[str, Any], key: str, allowed: tuple[str, ...]) -> str:
    """Return one of some words."""
    value = table.get(key)
    if value not in allowed:
        raise KeyFaultError(key, f"write one of {', '.join(allowed)}; is {value!r}")
    return str(value)


def turn(key: str, value: object) -> float:
    """Return a turn in revolutions: "1/4", 0.25 or 1; above zero and at most ten."""
    try:
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise ValueError("neither a number nor a fraction")
        rev = float(Fraction(value))
    except (ValueError, ZeroDivisionError, OverflowError) as error:
        raise KeyFaultError(key, f'write a turn as "1/4" or 0.25, is {value!r}') from error
    if not 0 < rev <= 10:
        raise KeyFaultError(key, f"must be above 0 and at most 10 turns, is {value!r}")
    return rev

"""Texts for cells, from values of a file that may hold anything."""

from collections.abc import Mapping
from datetime import UTC, datetime

from rockhold.report.units import Units

NOTHING = "–"
# The last word of a name is its unit; how it is written behind a number.
_UNITS = {"km": "km", "mi": "miles", "s": "s", "nm": "N·m", "mm": "mm", "in": "in", "percent": "%"}
_DEEPEST = 4


def text_of(value: object, depth: int = 0) -> str:
    """Return any value of a capture in words."""
    if value is None or value == "":
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if depth >= _DEEPEST:
        return "…"
    if isinstance(value, Mapping):
        return ", ".join(f"{label(str(k))} {text_of(v, depth + 1)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(text_of(part, depth + 1) for part in value) or NOTHING
    return str(value)


def label(name: str) -> str:
    """Return the name of a value as a person reads it: "odometer_km" is "odometer"."""
    words = name.split("_")
    if len(words) > 1 and words[-1] in _UNITS:
        words = words[:-1]
    return " ".join(words)


def with_unit(name: str, value: object) -> str:
    """Return a value with the unit that its name ends in."""
    unit = _UNITS.get(name.rsplit("_", 1)[-1]) if "_" in name else None
    text = text_of(value)
    return f"{text} {unit}" if unit and text != NOTHING else text


def facts_of(values: object) -> list[tuple[str, str]]:
    """Return name and text of each entry of an object; nothing for what is none."""
    if not isinstance(values, Mapping):
        return []
    return [(label(str(k)), with_unit(str(k), v)) for k, v in values.items() if v not in (None, "")]


def number(value: object) -> float | None:
    """Return a number, or None for what is none."""
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e18:
        return float(value)
    return None


def moment(value_nm: object, units: Units) -> str:
    """Return a torque with its unit, from a value in N·m."""
    torque_nm = number(value_nm)
    return NOTHING if torque_nm is None else units.moment(torque_nm)


def when(host_utc_us: object) -> str:
    """Return a host's UTC as "2026-11-25 10:44:03 UTC"."""
    us = number(host_utc_us)
    if us is None or not 0 <= us < 2.5e17:
        return NOTHING
    return f"{datetime.fromtimestamp(us // 1_000_000, UTC):%Y-%m-%d %H:%M:%S} UTC"


def moment_of(text: object) -> str:
    """Return a time as RFC 3339 writes it, in the form of `when`; other texts as they are."""
    try:
        return f"{datetime.fromisoformat(str(text)).astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
    except (ValueError, OverflowError):
        return text_of(text)

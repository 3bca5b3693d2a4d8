"""What a header calls its vehicle and wheel end, in one line."""

from collections.abc import Mapping

LONGEST = 200  # characters; nobody's name is longer, and a server's index takes no endless ones


def text_of(value: object) -> str:
    """Return a value of a header as a text that every database takes."""
    text = str(value)[:LONGEST].replace("\0", "\ufffd")
    return text.encode("utf-8", "replace").decode()


def vehicle_name(vehicle: object) -> str:
    """Return what a header calls its vehicle: the company's number, else the serial number."""
    return _first(vehicle, ("number", "serial"))


def wheel_end_name(wheel_end: object) -> str:
    """Return what a header calls its wheel end, from its parts or as it was typed.

    >>> wheel_end_name({"axle": 2, "side": "left", "kind": "drive"})
    'axle 2, left'
    >>> wheel_end_name({"position": "axle 2, left"})
    'axle 2, left'
    """
    typed = _first(wheel_end, ("text", "position"))
    if not isinstance(wheel_end, Mapping) or not wheel_end.get("axle"):
        return typed
    axle = text_of(wheel_end["axle"])
    axle = f"axle {axle}" if axle.isdigit() else axle
    rest = [text_of(wheel_end[name]) for name in ("side", "position") if wheel_end.get(name)]
    return ", ".join([axle, *rest])


def _first(value: object, names: tuple[str, ...]) -> str:
    if not isinstance(value, Mapping):
        return ""
    return next((text_of(value[name]) for name in names if value.get(name)), "")

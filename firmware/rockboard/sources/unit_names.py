"""Names of units as instruments and people write them."""

from rockwire import units

_UNITS = {
    "mm": units.MM,
    "in": units.INCH,
    "inch": units.INCH,
    '"': units.INCH,
    "nm": units.NEWTON_METRE,
    "lbft": units.POUND_FOOT,
    "ftlb": units.POUND_FOOT,
    "lbfft": units.POUND_FOOT,
    "ftlbf": units.POUND_FOOT,
    "ftlbs": units.POUND_FOOT,
    "lbin": units.POUND_INCH,
    "inlb": units.POUND_INCH,
    "lbfin": units.POUND_INCH,
    "inlbf": units.POUND_INCH,
    "inlbs": units.POUND_INCH,
}


def unit_named(text: str):
    """Return the unit with this name, None when there is none; points and dashes do not count."""
    return _UNITS.get("".join([ch for ch in text.lower() if ch not in " .-·*"]))

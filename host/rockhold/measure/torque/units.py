"""Units of torque: exact factors, and rounding as a display does it.

The pound, the inch and the foot are exact by definition (0.45359237 kg, 0.0254 m), and so is the
standard acceleration of free fall (9.80665 m/s²): NIST SP 811, appendix B. A factor is therefore a
fraction of whole numbers, and only the last step rounds.
"""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from rockhold.errors import OutOfRangeError

NM = "N·m"
LBF_FT = "lbf·ft"
LBF_IN = "lbf·in"
OZF_IN = "ozf·in"
KGF_M = "kgf·m"
KGF_CM = "kgf·cm"

_POUND_KG = Fraction(45359237, 10**8)
_FREE_FALL = Fraction(980665, 10**5)
_INCH_M = Fraction(254, 10**4)
_POUND_FORCE = _POUND_KG * _FREE_FALL

# One of each unit, in N·m.
FACTORS = {
    NM: Fraction(1),
    LBF_FT: _POUND_FORCE * 12 * _INCH_M,
    LBF_IN: _POUND_FORCE * _INCH_M,
    OZF_IN: _POUND_FORCE / 16 * _INCH_M,
    KGF_M: _FREE_FALL,
    KGF_CM: _FREE_FALL / 100,
}
UNITS = tuple(FACTORS)

# How people and instruments write them; upper and lower case, points and blanks do not count.
_OTHER_NAMES = {
    "nm": NM,
    "lbfft": LBF_FT,
    "lbft": LBF_FT,
    "ftlb": LBF_FT,
    "ftlbf": LBF_FT,
    "ftlbs": LBF_FT,
    "lbfin": LBF_IN,
    "lbin": LBF_IN,
    "inlb": LBF_IN,
    "inlbf": LBF_IN,
    "inlbs": LBF_IN,
    "ozfin": OZF_IN,
    "ozin": OZF_IN,
    "inoz": OZF_IN,
    "kgfm": KGF_M,
    "kgm": KGF_M,
    "kgfcm": KGF_CM,
    "kgcm": KGF_CM,
}


def unit_named(text: str) -> str:
    """Return the unit that a text names, as UNITS writes it.

    Raises:
        OutOfRangeError: When it names no unit of torque.
    """
    key = "".join(ch for ch in text.casefold() if ch not in " .-·*⋅")
    if key not in _OTHER_NAMES:
        raise OutOfRangeError(f"{text!r} is no unit of torque; use one of {', '.join(UNITS)}")
    return _OTHER_NAMES[key]


def to_nm(value: float, unit: str) -> float:
    """Return a torque in N·m, rounded once.

    Raises:
        OutOfRangeError: When the unit is none of UNITS.
    """
    return float(Fraction(value) * _factor(unit))


def from_nm(torque_nm: float, unit: str) -> float:
    """Return a torque in N·m in another unit, rounded once.

    Raises:
        OutOfRangeError: When the unit is none of UNITS.
    """
    return float(Fraction(torque_nm) / _factor(unit))


def shown(torque_nm: float, unit: str, places: int = 0) -> str:
    """Return a torque as people read it, for example "271 N·m"; halves go away from zero.

    Args:
        torque_nm: The torque, in N·m.
        unit: One of UNITS.
        places: Digits behind the point.
    """
    value = Decimal(repr(from_nm(torque_nm, unit)))
    rounded = value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    return f"{rounded + 0:f} {unit}"  # without a minus before zero


def _factor(unit: str) -> Fraction:
    if unit not in FACTORS:
        raise OutOfRangeError(f"{unit!r} is no unit of torque; use one of {', '.join(UNITS)}")
    return FACTORS[unit]

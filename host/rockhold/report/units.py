"""The units that a person reads: one system at a time, US or metric."""

from dataclasses import dataclass
from math import floor, log10

from rockhold.measure.torque.units import FACTORS, LBF_FT, NM
from rockhold.measure.trace import MM_PER_INCH

NM_PER_LBF_FT = float(FACTORS[LBF_FT])


@dataclass(frozen=True, slots=True)
class Units:
    """A system of units for lengths and torques.

    Attributes:
        length: Name of the unit of length, as it follows a number.
        per_mm: How many of it are in a millimetre.
        torque: Name of the unit of torque.
        per_nm: How many of it are in a newton metre.
        long_length: Name of the unit for lengths that stand beside the usual one, "" for none.
        long_per_mm: How many of that are in a millimetre.
    """

    length: str
    per_mm: float
    torque: str
    per_nm: float
    long_length: str = ""
    long_per_mm: float = 0.0

    def interval(self, value_mm: float, expanded_mm: float) -> str:
        """Return a value with its expanded uncertainty, "2.87 ± 0.52", without the unit.

        The uncertainty has two significant digits and the value as many places (JCGM 100:2008,
        7.2.6).
        """
        return f"{self.value(value_mm, expanded_mm)} ± {self.value(expanded_mm, expanded_mm)}"

    def value(self, value_mm: float, beside_mm: float) -> str:
        """Return a length with as many places as its uncertainty `beside_mm` has."""
        places = places_for(beside_mm * self.per_mm)
        # Rounded first, then freed of a minus before zero.
        return f"{round(value_mm * self.per_mm, places) + 0.0:.{places}f}"

    def plain(self, value_mm: float, digits: int = 3) -> str:
        """Return a length with so many significant digits, without idle zeros."""
        return f"{value_mm * self.per_mm + 0.0:.{digits}g}"

    def moment(self, torque_nm: float) -> str:
        """Return a torque with its unit."""
        return f"{torque_nm * self.per_nm:.3g} {self.torque}"


def places_for(uncertainty: float) -> int:
    """Return how many decimal places show two significant digits of an uncertainty."""
    if not uncertainty > 0:
        return 2
    # 0.0996 would become 0.10 with three places cut to two digits; so round first.
    rounded = float(f"{uncertainty:.1e}")
    return min(max(0, 1 - floor(log10(rounded))), 9)


US = Units(
    "thousandths of an inch", 1000 / MM_PER_INCH, LBF_FT, 1 / NM_PER_LBF_FT,
    "inches", 1 / MM_PER_INCH,
)  # fmt: skip
METRIC = Units("mm", 1.0, NM, 1.0)

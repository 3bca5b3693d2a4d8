"""The uncertainty budget: one row per cause, combined and expanded as the GUM says."""

from dataclasses import dataclass
from math import cos, exp, inf, pi, radians, sqrt

from scipy.special import stdtrit

from rockhold.errors import OutOfRangeError


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One cause of uncertainty.

    Attributes:
        cause: What it is, in words.
        value_mm: Standard uncertainty of the cause, in mm.
        distribution: "t", "rectangular", "normal" and so on.
        sensitivity: How much of it reaches the end play.
        dof: Degrees of freedom; infinite for a cause that is known.
        source: Where the number comes from.
    """

    cause: str
    value_mm: float
    distribution: str
    sensitivity: float
    dof: float
    source: str

    @property
    def u_mm(self) -> float:
        """Return the cause's share of the standard uncertainty of the end play, in mm."""
        return abs(self.sensitivity) * self.value_mm


def u_rectangular(half_width: float) -> float:
    """Return the standard uncertainty of a rectangular distribution (JCGM 100:2008, 4.3.7)."""
    return half_width / sqrt(3)


def u_resolution(step: float, spread: float = 0.0) -> float:
    """Return the standard uncertainty of a mean of rounded readings, in the unit of step.

    Without spread this is step/√12 (JCGM 100:2008, F.2.2.1). A spread of the readings, or of
    the places where the level came to rest, smooths the rounding: the error of the mean is the
    Fourier series (step/π) Σ (-1)^k/k sin(2πk x/step) exp(-2π²k²s²/step²), here its root mean
    square over x. (Derived from the saw-tooth of rounding; compare R. Willink, Metrologia 44
    (2007) 73, on digitised data.)

    Raises:
        OutOfRangeError: If step is not above zero or spread is negative.
    """
    if step <= 0:
        raise OutOfRangeError(f"a display step must be above zero, is {step}")
    if spread < 0:
        raise OutOfRangeError(f"a spread must not be negative, is {spread}")
    if spread == 0:
        return step / sqrt(12)
    ratio = 2 * pi * spread / step
    series = 0.0
    for k in range(1, 200):
        term = exp(-((k * ratio) ** 2)) / k**2
        series += term
        if term < 1e-6:
            break
    return step * sqrt(series / 2) / pi


def cosine_error(length: float, tilt_deg: float) -> float:
    """Return by how much a tilted plunger on a flat face over-reads a length at most.

    A plunger at an angle to the travel of a flat face moves length/cos(tilt).

    Raises:
        OutOfRangeError: If the tilt is not between 0 and 60 degrees.
    """
    if not 0 <= tilt_deg < 60:
        raise OutOfRangeError(f"tilt must be from 0 to below 60 degrees, is {tilt_deg}")
    return length * (1 / cos(radians(tilt_deg)) - 1)


def combined(rows: tuple[BudgetRow, ...]) -> float:
    """Return the combined standard uncertainty, in mm (JCGM 100:2008, 5.1.2)."""
    return sqrt(sum(row.u_mm**2 for row in rows))


def effective_dof(rows: tuple[BudgetRow, ...]) -> float:
    """Return the effective degrees of freedom by Welch–Satterthwaite (JCGM 100:2008, G.4.1)."""
    total = combined(rows)
    below = sum(row.u_mm**4 / row.dof for row in rows if row.dof < inf and row.dof > 0)
    return total**4 / below if below > 0 else inf


def coverage_factor(dof: float, coverage: float) -> float:
    """Return k for a two-sided coverage probability (JCGM 100:2008, G.3.2, Table G.2).

    Degrees of freedom are not cut to a whole number (G.4.1 allows interpolation).

    Raises:
        OutOfRangeError: If dof is not above zero or coverage not between 0 and 1.
    """
    if not dof > 0:
        raise OutOfRangeError(f"degrees of freedom must be above zero, are {dof}")
    if not 0 < coverage < 1:
        raise OutOfRangeError(f"coverage must lie between 0 and 1, is {coverage}")
    return float(stdtrit(min(dof, 1e9), 0.5 * (1 + coverage)))

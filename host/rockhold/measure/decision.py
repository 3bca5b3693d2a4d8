"""Accept, reject or undecided: a decision rule with guard bands.

Source: JCGM 106:2012, clauses 7 and 8; ILAC-G8:09/2019, 4.2. The probability of conformity takes
the end play as normal about the measured value (JCGM 106, 7.2, no prior knowledge).
"""

from dataclasses import dataclass
from math import inf

from scipy.special import ndtr

ACCEPT = "accept"
REJECT = "reject"
UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Decision:
    """A verdict and what it rests on.

    Attributes:
        verdict: ACCEPT, REJECT or UNDECIDED.
        conformity: Probability that the value lies inside the tolerance band.
        accept_low: Lower acceptance limit, in the unit of the value.
        accept_high: Upper acceptance limit, in the unit of the value.
    """

    verdict: str
    conformity: float
    accept_low: float
    accept_high: float


def conformity(value: float, u: float, low: float = -inf, high: float = inf) -> float:
    """Return the probability that a value with standard uncertainty u lies in low..high."""
    if u <= 0:
        return 1.0 if low <= value <= high else 0.0
    return float(ndtr((high - value) / u) - ndtr((low - value) / u))


def decide(
    value: float, u: float, expanded: float, low: float, high: float, guard_factor: float
) -> Decision:
    """Decide with a guard band of guard_factor times the expanded uncertainty.

    Inside the acceptance limits: accept. Outside the tolerance band by more than the guard band:
    reject. Between: undecided. With guard_factor 0 (simple acceptance) nothing is undecided.
    """
    guard = guard_factor * expanded
    accept_low, accept_high = low + guard, high - guard
    probability = conformity(value, u, low, high)
    if accept_low <= value <= accept_high:
        verdict = ACCEPT
    elif value < low - guard or value > high + guard:
        verdict = REJECT
    else:
        verdict = UNDECIDED
    return Decision(verdict, probability, accept_low, accept_high)

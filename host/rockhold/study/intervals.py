"""Confidence intervals of variances that are sums and differences of mean squares.

Of one mean square the interval is exact (chi-squared). Of a sum it is the modified large-sample
interval of Graybill and Wang (1980), of a difference that of Ting, Burdick, Graybill, Jeyaratnam
and Lu (1990). Both are exact when all but one mean square vanish, and keep about the stated
confidence otherwise, also with the few degrees of freedom that two or three people give. The
formulas are from memory; a test measures how often the interval covers the truth.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import sqrt

from scipy import stats


@dataclass(frozen=True, slots=True)
class Term:
    """One mean square of a sum.

    Attributes:
        factor: What it is multiplied by; below zero where it is taken off.
        mean_square: In any unit.
        dof: Its degrees of freedom.
    """

    factor: float
    mean_square: float
    dof: int

    @property
    def size(self) -> float:
        """Return the term without its sign."""
        return abs(self.factor) * self.mean_square


def variance_interval(terms: Sequence[Term], confidence: float = 0.95) -> tuple[float, float]:
    """Return the interval of the sum of terms; its ends are not below zero.

    Args:
        terms: At least one has a factor above zero, at most one a factor below.
        confidence: Of the whole interval, both sides alike.
    """
    tail = (1.0 - confidence) / 2.0
    plus = [term for term in terms if term.factor > 0.0]
    minus = [term for term in terms if term.factor < 0.0]
    value = sum(term.factor * term.mean_square for term in terms)
    low = sum((_below(t.dof, tail) * t.size) ** 2 for t in plus)
    low += sum((_above(t.dof, tail) * t.size) ** 2 for t in minus)
    low += sum(_low_across(a, b, tail) * a.size * b.size for a in plus for b in minus)
    if minus:  # a sum alone needs no such term
        pairs = combinations(plus, 2)
        low += sum(_among(a, b, tail) * a.size * b.size for a, b in pairs) / max(1, len(plus) - 1)
    high = sum((_above(t.dof, tail) * t.size) ** 2 for t in plus)
    high += sum((_below(t.dof, tail) * t.size) ** 2 for t in minus)
    high += sum(_high_across(a, b, tail) * a.size * b.size for a in plus for b in minus)
    return max(0.0, value - sqrt(max(0.0, low))), max(0.0, value + sqrt(max(0.0, high)))


def _below(dof: int, tail: float) -> float:
    """Return by which share the lower limit of one mean square alone lies below it."""
    return 1.0 - dof / _chi2(tail, dof)


def _above(dof: int, tail: float) -> float:
    """Return by which share the upper limit of one mean square alone lies above it."""
    return dof / _chi2(1.0 - tail, dof) - 1.0


def _low_across(a: Term, b: Term, tail: float) -> float:
    f = _f(tail, a.dof, b.dof)
    return ((f - 1) ** 2 - (_below(a.dof, tail) * f) ** 2 - _above(b.dof, tail) ** 2) / f


def _high_across(a: Term, b: Term, tail: float) -> float:
    f = _f(1.0 - tail, a.dof, b.dof)
    return ((1 - f) ** 2 - (_above(a.dof, tail) * f) ** 2 - _below(b.dof, tail) ** 2) / f


def _among(a: Term, b: Term, tail: float) -> float:
    both = a.dof + b.dof
    whole = _below(both, tail) ** 2 * both**2 / (a.dof * b.dof)
    return (
        whole - _below(a.dof, tail) ** 2 * a.dof / b.dof - _below(b.dof, tail) ** 2 * b.dof / a.dof
    )


@cache
def _chi2(above: float, dof: int) -> float:
    return float(stats.chi2.isf(above, dof))


@cache
def _f(above: float, dof: int, other_dof: int) -> float:
    return float(stats.f.isf(above, dof, other_dof))

"""Repeatability, reproducibility and the variation of wheel ends, from a full table.

Words as in VIM (JCGM 200:2012): repeatability (2.21) is the scatter of one person's trials at one
wheel end; reproducibility here is what different people add to it, together with what they do
differently at different wheel ends. Variances follow from the mean squares; one that comes out
below zero is set to zero, and its interval says how large it may be all the same.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Any

from rockhold.measure.limits import EndPlayLimits
from rockhold.study.anova import Line, one_way, two_way
from rockhold.study.intervals import Term, variance_interval
from rockhold.study.trials import Table

WIDTH = 6.0  # standard deviations against the band; common practice, no source
CONFIDENCE = 0.95

REPEATABILITY = "repeatability"
REPRODUCIBILITY = "reproducibility"
MEASURING = "measuring system"
WHEEL_ENDS = "wheel ends"
TOTAL = "total"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the variation.

    Attributes:
        name: REPEATABILITY, REPRODUCIBILITY, MEASURING (both together), WHEEL_ENDS or TOTAL.
        s_mm: Standard deviation.
        low_mm: Lower end of its 95 % interval, None where none is given.
        high_mm: Upper end.
        of_band_percent: Six standard deviations over the width of the tolerance band.
        of_total_percent: Standard deviation over that of the whole study.
    """

    name: str
    s_mm: float
    low_mm: float | None
    high_mm: float | None
    of_band_percent: float
    of_total_percent: float | None


@dataclass(frozen=True, slots=True)
class Study:
    """What a study says.

    Attributes:
        table: The results.
        band_mm: The tolerance band.
        lines: The table of variance.
        parts: The parts of the variation; without reproducibility when one person measured.
        remarks: What must be said about it.
    """

    table: Table
    band_mm: tuple[float, float]
    lines: tuple[Line, ...]
    parts: tuple[Part, ...]
    remarks: tuple[str, ...]

    def part(self, name: str) -> Part:
        """Return a part by its name."""
        return next(part for part in self.parts if part.name == name)

    def to_json(self) -> dict[str, Any]:
        """Return the object that `study --json` prints."""
        return {
            "people": list(self.table.people),
            "wheel_ends": list(self.table.wheel_ends),
            "trials": self.table.values_mm.shape[2],
            "band_mm": list(self.band_mm),
            "variance": [
                {
                    "cause": line.cause,
                    "dof": line.dof,
                    "sum_squares_mm2": line.sum_squares_mm2,
                    "mean_square_mm2": line.mean_square_mm2,
                    "f": line.f,
                    "p": line.p,
                }
                for line in self.lines
            ],
            "parts": [
                {
                    "name": part.name,
                    "s_mm": part.s_mm,
                    "low_mm": part.low_mm,
                    "high_mm": part.high_mm,
                    "of_band_percent": part.of_band_percent,
                    "of_total_percent": part.of_total_percent,
                }
                for part in self.parts
            ],
            "remarks": list(self.remarks),
        }


_ALL_ALIKE = (
    "Nobody's trials differ at all: the gauge's count, or the rounding, is too coarse to see how "
    "far they repeat. Nothing above says that the measuring is that good."
)


def study_of(table: Table, limits: EndPlayLimits) -> Study:
    """Return what a full table says, against a procedure's tolerance band."""
    persons, wheel_ends, trials = table.values_mm.shape
    lines: tuple[Line, ...]
    if persons > 1:
        lines = two_way(table.values_mm)
        sums = _of_two_way(lines, persons, wheel_ends, trials)
        remarks = _remarks(persons, wheel_ends, trials)
    else:
        lines = one_way(table.values_mm[0])
        sums = _of_one_way(lines, trials)
        remarks = ("One person measured: what other people would add is not in these numbers.",)
    if not lines[-1].mean_square_mm2:
        remarks = (*remarks, _ALL_ALIKE)
    band_mm = (limits.band_low_mm, limits.band_high_mm)
    return Study(table, band_mm, lines, _parts(sums, band_mm), remarks)


def _of_two_way(
    lines: tuple[Line, ...], persons: int, wheel_ends: int, trials: int
) -> dict[str, list[Term]]:
    """Return each variance as a sum of mean squares.

    Source: the expected mean squares of the two-way random model with interaction, solved.
    """
    person, wheel_end, both, repeat = lines
    n, r = wheel_ends, trials
    return {
        REPEATABILITY: [_term(1.0, repeat)],
        REPRODUCIBILITY: [
            _term(1 / (n * r), person), _term((n - 1) / (n * r), both), _term(-1 / r, repeat),
        ],
        MEASURING: [
            _term(1 / (n * r), person), _term((n - 1) / (n * r), both),
            _term((r - 1) / r, repeat),
        ],
        WHEEL_ENDS: [_term(1 / (persons * r), wheel_end), _term(-1 / (persons * r), both)],
    }  # fmt: skip


def _of_one_way(lines: tuple[Line, ...], trials: int) -> dict[str, list[Term]]:
    wheel_end, repeat = lines
    return {
        REPEATABILITY: [_term(1.0, repeat)],
        MEASURING: [_term(1.0, repeat)],
        WHEEL_ENDS: [_term(1 / trials, wheel_end), _term(-1 / trials, repeat)],
    }


def _term(factor: float, line: Line) -> Term:
    return Term(factor, line.mean_square_mm2, line.dof)


def _parts(sums: dict[str, list[Term]], band_mm: tuple[float, float]) -> tuple[Part, ...]:
    variance = {
        name: max(0.0, sum(term.factor * term.mean_square for term in terms))
        for name, terms in sums.items()
    }
    if REPRODUCIBILITY in variance:  # as parts of one whole, after what is set to zero
        variance[MEASURING] = variance[REPEATABILITY] + variance[REPRODUCIBILITY]
    total_mm = sqrt(variance[MEASURING] + variance[WHEEL_ENDS])
    width_mm = band_mm[1] - band_mm[0]

    def part(name: str, s_mm: float, ends: tuple[float, float] | None) -> Part:
        return Part(
            name=name,
            s_mm=s_mm,
            low_mm=sqrt(ends[0]) if ends else None,
            high_mm=sqrt(ends[1]) if ends else None,
            of_band_percent=100.0 * WIDTH * s_mm / width_mm,
            of_total_percent=100.0 * s_mm / total_mm if total_mm else None,
        )

    found = [
        part(name, sqrt(variance[name]), variance_interval(terms, CONFIDENCE))
        for name, terms in sums.items()
    ]
    return (*found, part(TOTAL, total_mm, None))


def _remarks(persons: int, wheel_ends: int, trials: int) -> tuple[str, ...]:
    remarks = []
    if persons < 3:
        remarks.append(
            "Two people tell very little of what people differ by: see how wide that interval is."
        )
    if wheel_ends < 5 or trials < 2:
        remarks.append("Few wheel ends: 10 that differ as the fleet's do are common practice.")
    return tuple(remarks)

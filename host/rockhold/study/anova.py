"""Analysis of variance of a crossed study: who measured, at which wheel end, how often.

Model of the two-way table (persons i, wheel ends j, trials k), all effects random:

    end play = mean + person_i + wheel_end_j + (person × wheel end)_ij + repeat_ijk

With one person only, the one-way table (wheel ends, trials) is what is left of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a table of variance.

    Attributes:
        cause: What varies.
        dof: Degrees of freedom.
        sum_squares_mm2: Sum of squares, in mm².
        f: Ratio of its mean square to that of the line that it is tested against; None where it
            is not tested.
        p: Probability of such a ratio, or a larger one, if this cause did nothing.
    """

    cause: str
    dof: int
    sum_squares_mm2: float
    f: float | None = None
    p: float | None = None

    @property
    def mean_square_mm2(self) -> float:
        """Sum of squares over degrees of freedom, in mm²."""
        return self.sum_squares_mm2 / self.dof


PERSON = "person"
WHEEL_END = "wheel end"
INTERACTION = "person × wheel end"
REPEAT = "repeat"


def one_way(values_mm: Values) -> tuple[Line, Line]:
    """Return the lines of wheel ends and of repeats.

    Args:
        values_mm: Wheel ends by trials.
    """
    values = values_mm - values_mm.mean()  # first: so that large values leave no rounding
    wheel_ends, trials = values.shape
    means = values.mean(axis=1)
    between = trials * float(np.sum((means - means.mean()) ** 2))
    within = float(np.sum((values - means[:, None]) ** 2))
    repeat = Line(REPEAT, wheel_ends * (trials - 1), within)
    return _tested(Line(WHEEL_END, wheel_ends - 1, between), repeat), repeat


def two_way(values_mm: Values) -> tuple[Line, Line, Line, Line]:
    """Return the lines of persons, wheel ends, their interaction, and repeats.

    Persons and wheel ends are tested against the interaction, because both are a sample of those
    that there could be (random effects); the interaction is tested against the repeats. The
    interaction is never pooled with the repeats, however small it is.

    Args:
        values_mm: Persons by wheel ends by trials.
    """
    values = values_mm - values_mm.mean()
    persons, wheel_ends, trials = values.shape
    cells = values.mean(axis=2)
    by_person, by_wheel_end = cells.mean(axis=1), cells.mean(axis=0)
    rest = cells - by_person[:, None] - by_wheel_end[None, :] + cells.mean()
    squares = (
        wheel_ends * trials * float(np.sum((by_person - by_person.mean()) ** 2)),
        persons * trials * float(np.sum((by_wheel_end - by_wheel_end.mean()) ** 2)),
        trials * float(np.sum(rest**2)),
        float(np.sum((values - cells[:, :, None]) ** 2)),
    )
    repeat = Line(REPEAT, persons * wheel_ends * (trials - 1), squares[3])
    both = Line(INTERACTION, (persons - 1) * (wheel_ends - 1), squares[2])
    return (
        _tested(Line(PERSON, persons - 1, squares[0]), both),
        _tested(Line(WHEEL_END, wheel_ends - 1, squares[1]), both),
        _tested(both, repeat),
        repeat,
    )


def _tested(line: Line, against: Line) -> Line:
    if against.sum_squares_mm2 <= 0.0:
        return line
    f = line.mean_square_mm2 / against.mean_square_mm2
    p = float(stats.f.sf(f, line.dof, against.dof))
    return Line(line.cause, line.dof, line.sum_squares_mm2, f, p)

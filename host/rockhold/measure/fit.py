"""The least-squares model of all holds: `level = c + d·t ± E/2`, with a step where zero moved.

Solved by the normal equations of a handful of columns; time is centred, so they are well
conditioned. A step whose size is known from the readings enters as one more observation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the coordinate.

    Attributes:
        at_s: Time of the step, in seconds.
        size: Best knowledge of its size before the fit, in counts.
        u: Standard uncertainty of that size, in counts; infinite if nothing is known.
    """

    at_s: float
    size: float
    u: float


@dataclass(frozen=True, slots=True)
class Fit:
    """Result of the fit; lengths in counts.

    Attributes:
        end_play: E, upper level less lower level.
        drift_per_s: d, in counts per second.
        scatter: Standard deviation of a level about the model.
        dof: Degrees of freedom of the scatter.
        u_end_play: Type A standard uncertainty of E.
        residuals: Level less model, one per hold.
        u_drift_per_s: Type A standard uncertainty of d, in counts per second.
    """

    end_play: float
    drift_per_s: float
    scatter: float
    dof: int
    u_end_play: float
    residuals: Floats
    u_drift_per_s: float


def fit_levels(middle_s: Floats, levels: Floats, upper: Bools, steps: tuple[Step, ...] = ()) -> Fit:
    """Fit the model by least squares.

    Args:
        middle_s: Middle of each hold, in seconds.
        levels: Level of each hold, in counts.
        upper: Whether each hold belongs to the upper side.
        steps: Steps of the coordinate, in the order of time.

    Needs at least one hold on each side; without a degree of freedom left, the scatter is 0.
    """
    n = len(levels)
    columns = [np.ones(n), np.where(upper, 0.5, -0.5)]
    if n >= 4:
        columns.append(middle_s - middle_s.mean())
    columns += [(middle_s > step.at_s).astype(np.float64) for step in steps]
    design = np.column_stack(columns)
    design, target = _with_known_sizes(design, levels, steps)
    inverse = np.linalg.pinv(design.T @ design)
    solution = inverse @ (design.T @ target)
    residuals = target - design @ solution
    dof = max(0, len(target) - design.shape[1])
    scatter = float(np.sqrt(residuals @ residuals / dof)) if dof else 0.0
    has_drift = n >= 4
    return Fit(
        end_play=float(solution[1]),
        drift_per_s=float(solution[2]) if has_drift else 0.0,
        scatter=scatter,
        dof=dof,
        u_end_play=scatter * float(np.sqrt(inverse[1, 1])),
        residuals=residuals[:n],
        u_drift_per_s=scatter * float(np.sqrt(inverse[2, 2])) if has_drift else 0.0,
    )


def _with_known_sizes(
    design: Floats, levels: Floats, steps: tuple[Step, ...]
) -> tuple[Floats, Floats]:
    """Return design and target with a weighted row for each step whose size was seen itself."""
    known = [step for step in steps if np.isfinite(step.u)]
    if not known:
        return design, levels
    scale = _first_scatter(design, levels)
    extra = np.zeros((len(known), design.shape[1]))
    for row, step in enumerate(known):
        weight = scale / step.u
        extra[row, design.shape[1] - len(steps) + steps.index(step)] = weight
    sizes = np.array([step.size * scale / step.u for step in known])
    return np.vstack((design, extra)), np.concatenate((levels, sizes))


def _first_scatter(design: Floats, levels: Floats) -> float:
    """Return the scatter of a fit that knows nothing of the steps' sizes; never quite zero."""
    solution = np.linalg.pinv(design) @ levels
    residuals = levels - design @ solution
    dof = max(1, design.shape[0] - design.shape[1])
    return max(float(np.sqrt(residuals @ residuals / dof)), 0.05)

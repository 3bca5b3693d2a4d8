"""The levels of some holds, and how well two groups explain them after shifts of the later ones."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import weights_of
from rockhold.measure.holds import Hold

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels of holds in the order of time.

    Attributes:
        level: In counts.
        weight: The longer a hold, the more it counts: a stop on the way is no hold of a side.
        first: Index of each hold's first reading.
    """

    level: Floats
    weight: Floats
    first: Ints

    @classmethod
    def of(cls, holds: Sequence[Hold]) -> "Levels":
        """Return the levels of some holds."""
        level = np.array([hold.level for hold in holds], dtype=np.float64)
        return cls(level, weights_of(holds), np.array([hold.first for hold in holds]))

    def from_on(self, index: int) -> Bools:
        """Return which holds begin with a reading or after it."""
        return np.asarray(self.first >= index)

    def spread(self, *steps: tuple[int, float]) -> float:
        """Return the least spread within two groups, in counts, once steps are taken out.

        Args:
            steps: Of each the first reading after it, and its size in counts.
        """
        left = self.level.copy()
        for index, size in steps:
            left -= size * self.from_on(index)
        return float(self._spreads(left[None, :])[0])

    def best_shift(self) -> tuple[int, float, float]:
        """Return the shift of all holds from one on that leaves the least spread.

        Returns:
            The first hold that is shifted, the shift in counts, and the spread that is left.
        """
        n = len(self.level)
        at, early, late = (
            part.ravel() for part in np.meshgrid(np.arange(1, n), np.arange(n), np.arange(n))
        )
        fits = (early < at) & (late >= at)
        at, early, late = at[fits], early[fits], late[fits]
        sizes = self.level[late] - self.level[early]
        spreads = self._spreads(self.level - sizes[:, None] * (np.arange(n) >= at[:, None]))
        best = int(np.argmin(spreads))
        return int(at[best]), float(sizes[best]), float(spreads[best])

    def _spreads(self, levels: Floats) -> Floats:
        """Return for each row of levels the least weighted spread within two groups."""
        order = np.argsort(levels, axis=1, kind="stable")
        ordered = np.take_along_axis(levels, order, axis=1)
        ordered -= ordered[:, :1]
        mass = self.weight[order]
        total, squares = np.cumsum(mass * ordered, axis=1), np.cumsum(mass * ordered**2, axis=1)
        low = np.cumsum(mass, axis=1)
        high = low[:, -1:] - low[:, :-1]
        below = squares[:, :-1] - total[:, :-1] ** 2 / low[:, :-1]
        above = squares[:, -1:] - squares[:, :-1] - (total[:, -1:] - total[:, :-1]) ** 2 / high
        least = np.maximum((below + above).min(axis=1), 0)
        return np.asarray(np.sqrt(least / low[:, -1]), dtype=np.float64)

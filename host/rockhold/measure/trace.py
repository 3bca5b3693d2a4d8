"""The readings of one indicator over time, as the indicator showed them."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

MM_PER_INCH = 25.4  # exact, by definition of the international inch


@dataclass(frozen=True, slots=True)
class UnitSpan:
    """From which reading on the gauge showed which unit and step.

    Attributes:
        first: Index of the first reading of the span.
        unit: "mm" or "in".
        step_mm: One count of the gauge, in mm.
    """

    first: int
    unit: str
    step_mm: float


@dataclass(frozen=True, slots=True)
class Mark:
    """Something the board said between the readings.

    Attributes:
        code: Name of the board's event, for example "gauge_silent" or "readings_dropped".
        t_us: Board time of the event, in microseconds.
        value: A number that belongs to the event, for example how many readings were dropped.
    """

    code: str
    t_us: int
    value: int = 0


@dataclass(frozen=True, slots=True)
class Trace:
    """Indications of one gauge.

    Attributes:
        t_us: Board time of each reading, in microseconds, not decreasing; int64, shape (n,).
        count: What the gauge showed, in its own counts; int64, shape (n,).
        spans: Unit and step, from the first reading on; one entry unless the unit was changed.
        marks: What the board reported, in the order of time.
        free_stop_mm: What the gauge would show at the first reading if its plunger hung free, in
            mm; None where nobody noted it.
    """

    t_us: NDArray[np.int64]
    count: NDArray[np.int64]
    spans: tuple[UnitSpan, ...]
    marks: tuple[Mark, ...] = field(default=())
    free_stop_mm: float | None = None

    def __len__(self) -> int:
        """Return the number of readings."""
        return len(self.t_us)

    @property
    def t_s(self) -> NDArray[np.float64]:
        """Time of each reading, in seconds of the board's clock."""
        return np.multiply(self.t_us, 1e-6, dtype=np.float64)

    @property
    def travel_mm(self) -> NDArray[np.float64]:
        """Indication of each reading, in mm."""
        travel = np.empty(len(self), dtype=np.float64)
        ends = [span.first for span in self.spans[1:]] + [len(self)]
        for span, end in zip(self.spans, ends, strict=True):
            travel[span.first : end] = self.count[span.first : end] * span.step_mm
        return travel

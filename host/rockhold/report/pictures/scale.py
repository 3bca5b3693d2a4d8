"""Map values to pixels, and choose round numbers for the marks of an axis."""

from dataclasses import dataclass
from math import ceil, floor, isfinite, log10


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight map of low..high to first..last pixels."""

    low: float
    high: float
    first: float
    last: float

    def __call__(self, value: float) -> float:
        """Return the pixel of a value."""
        return self.first + (value - self.low) / (self.high - self.low) * (self.last - self.first)

    def inside(self, value: float) -> float:
        """Return the pixel of a value, held inside the scale."""
        return self(min(max(value, self.low), self.high))


def ticks(low: float, high: float, most: int) -> list[tuple[float, str]]:
    """Return at most so many round values in low..high, each with its text.

    Steps are 1, 2 or 5 times a power of ten.
    """
    span = high - low
    if not (isfinite(span) and span > 0):
        return []
    power = 10.0 ** floor(log10(span / most))
    step = next(m * power for m in (1, 2, 5, 10, 20) if span / (m * power) <= most)
    places = max(0, -floor(log10(step) + 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [(at * step, f"{at * step:.{places}f}") for at in range(first, last + 1)]

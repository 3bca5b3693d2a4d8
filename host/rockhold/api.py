"""Captures in a notebook: readings as arrays, the end play again, and who signed what.

    >>> import rockhold
    >>> capture = rockhold.open_capture("demo_captures/good.capture")
    >>> capture.header["vehicle"]["number"]
    'R-101, trailer'

The readings are numpy arrays of one length, ready for a plot or, as `readings._asdict()`, for a
data frame:

    >>> readings = capture.readings()
    >>> readings.travel_mm.shape == readings.t_s.shape
    True
    >>> readings.travel_mm.dtype, readings.counts.dtype
    (dtype('float64'), dtype('int64'))

The result is the one that `rockhold measure` gives, from the readings and the capture's own limits:

    >>> result = capture.measure()
    >>> print(f"{result.end_play_mm:.2f} mm ± {result.expanded_mm:.2f} mm, {result.verdict}")
    0.08 mm ± 0.01 mm, accept
    >>> [hold.side for hold in result.holds]
    ['out', 'in', 'out', 'in', 'out', 'in']

Verification asks whose keys are trusted on this computer, as `rockhold verify` does. Here nobody
has said yet that the demo's keys are:

    >>> found = capture.verify()
    >>> found.state
    'unknown_key'
    >>> [seal.by for seal in found.seals]
    ['A. Miller (demo)']
"""

from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.capture.trace import trace_of
from rockhold.evidence.findings import Verification
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.result import measure_capture
from rockhold.evidence.trust import Trust, trust_of
from rockhold.evidence.verify import verify_bytes
from rockhold.measure.result import EndPlayResult


class Readings(NamedTuple):
    """What the indicator showed, as arrays of one length.

    Attributes:
        t_s: Time of each reading, in seconds of the board's clock.
        travel_mm: Indication, in mm.
        t_us: The time as the board gave it, in microseconds.
        counts: The indication as the gauge gave it, in its own counts.
    """

    t_s: NDArray[np.float64]
    travel_mm: NDArray[np.float64]
    t_us: NDArray[np.int64]
    counts: NDArray[np.int64]


class OpenCapture:
    """One capture, read once; what is asked of it is computed from these bytes.

    Attributes:
        path: The file.
        header: Its first line: who, what, when, with which tools.
    """

    def __init__(self, path: Path, data: bytes, capture: Capture) -> None:
        """Use open_capture()."""
        self.path = path
        self._data = data
        self._capture = capture

    def __repr__(self) -> str:
        """Say which file it is."""
        return f"<capture {self.header.get('capture', '')!s} of {str(self.path)!r}>"

    @property
    def header(self) -> dict[str, object]:
        """The capture's first line."""
        return self._capture.header

    def readings(self) -> Readings:
        """Return the indicator's readings.

        Raises:
            TooFewSamplesError: When there are none.
            CaptureFormatError: When a record is damaged.
        """
        trace = trace_of(self._capture)
        return Readings(trace.t_s, trace.travel_mm, trace.t_us, trace.count)

    def measure(self) -> EndPlayResult:
        """Return the end play with its uncertainty, verdict and findings.

        Raises:
            RockholdError: When there are no readings, or the header or a record is damaged.
        """
        return measure_capture(self._capture)

    def verify(self, trust: Trust | None = None) -> Verification:
        """Return what verification finds; a fault is in the answer, not raised.

        Args:
            trust: Whom to trust; else those whom the user of this computer trusts.
        """
        known = trust_of(stored_keys()) if trust is None else trust
        return verify_bytes(self.path, self._data, known)


def open_capture(path: str | Path) -> OpenCapture:
    """Read a capture file.

    Raises:
        CaptureFormatError: When it cannot be read as a capture; with the line.
    """
    place = Path(path)
    data = read_bytes(place)
    return OpenCapture(place, data, parse_capture(place, data))

"""What several tests ask of a capture file: the readings that count."""

from pathlib import Path

from rockhold.capture.reader import read_capture
from rockhold.capture.trace import measured_trace
from rockhold.measure.trace import Trace


def load_trace(path: Path) -> Trace:
    """Return the indicator's readings that a capture's result is computed from."""
    return measured_trace(read_capture(path))

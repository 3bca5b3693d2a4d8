"""Which reader a file needs: a capture begins with `{`, anything else is a plain CSV."""

from importlib import import_module
from pathlib import Path

from rockhold.errors import CaptureFormatError
from rockhold.measure.csvtrace import read_csv
from rockhold.measure.trace import Trace


def read_trace(path: Path, step_mm: float | None = None) -> Trace:
    """Return the readings in a capture or a CSV.

    Args:
        path: The file.
        step_mm: The gauge's count for a CSV, in mm; a capture knows its own.

    Raises:
        CaptureFormatError: If the file cannot be read as either.
    """
    try:
        with path.open("rb") as file:
            is_capture = file.read(1) == b"{"
    except OSError as error:
        raise CaptureFormatError(f"{path}: cannot open: {error.strerror}") from error
    if not is_capture:
        return read_csv(path, step_mm)
    # Only here, and by name: measuring CSV files shall not wait for the cryptography of captures.
    trace = import_module("rockhold.capture.reader").load_trace(path)
    assert isinstance(trace, Trace)
    return trace

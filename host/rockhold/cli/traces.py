"""What `measure` and `plot` do with a file: a capture (by its name or first byte), else a CSV."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rockhold.capture.csvtrace import read_csv
from rockhold.capture.lines import SUFFIX
from rockhold.capture.reader import read_capture, stored_size
from rockhold.errors import CaptureFormatError, MeasurementError
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult, not_held
from rockhold.measure.trace import Trace
from rockhold.procedure.endplay import shipped_limits
from rockhold.procedure.load import load_limits

if TYPE_CHECKING:
    from rockhold.capture.torque import TorqueTrace

_NO_READINGS = Trace(np.empty(0, np.int64), np.empty(0, np.int64), ())


@dataclass(frozen=True, slots=True)
class Given:
    """What the person said on the command line; None where nothing was said.

    Attributes:
        limits: Of the procedure named; else a capture's own, or the shipped ones.
        mpe_mm: The gauge's limit of error; else a capture's own, or none.
        step_mm: The gauge's count for a CSV; a capture knows its own.
    """

    limits: EndPlayLimits | None = None
    mpe_mm: float | None = None
    step_mm: float | None = None

    @classmethod
    def of(cls, procedure: str | None, mpe_mm: float | None, step_mm: float | None) -> "Given":
        """Return what the options say.

        Raises:
            ProcedureError: If the procedure cannot be used.
        """
        return cls(load_limits(procedure) if procedure else None, mpe_mm, step_mm)


@dataclass(frozen=True, slots=True)
class Measured:
    """A file's readings, what was asked of them, and the result; the torque, if it was read."""

    trace: Trace
    limits: EndPlayLimits
    result: EndPlayResult
    torque: "TorqueTrace | None" = None


def measure_path(path: Path, given: Given) -> Measured:
    """Measure a capture or a CSV.

    Raises:
        RockholdError: If the file cannot be read as either.
    """
    try:
        stored_size(path)
        with path.open("rb") as file:
            is_capture = file.read(1) == b"{" or path.suffix == SUFFIX
    except OSError as error:
        raise CaptureFormatError(f"{path}: cannot open: {error.strerror}") from error
    if is_capture:
        return _capture(path, given)
    limits = given.limits or shipped_limits()
    trace = read_csv(path, given.step_mm)
    return Measured(trace, limits, measure_trace(trace, limits, GaugeFacts(given.mpe_mm)))


def _capture(path: Path, given: Given) -> Measured:
    # Only here: measuring CSV files shall not wait for what captures need.
    from rockhold.capture.measured import measured_readings
    from rockhold.capture.torque import torque_trace_of
    from rockhold.evidence.result import gauge_of, limits_of

    capture = read_capture(path)
    limits = limits_of(capture, given.limits)
    gauge = gauge_of(capture)
    if given.mpe_mm is not None:
        gauge = replace(gauge, mpe_mm=given.mpe_mm)
    torque = torque_trace_of(capture)
    try:
        trace, turning = measured_readings(capture)
    except MeasurementError as error:  # torque alone, or a job that did not come to its end play
        return Measured(_NO_READINGS, limits, not_held(str(error)), torque)
    return Measured(trace, limits, measure_trace(trace, limits, gauge, turning), torque)

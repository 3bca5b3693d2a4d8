"""Everything about one capture that a report or a review needs, whatever state the file is in."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from rockhold.capture.measured import measured_readings
from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.capture.torque import TorqueTrace, torque_trace_of
from rockhold.errors import CaptureError, MeasurementError, RockholdError
from rockhold.evidence.findings import Verification
from rockhold.evidence.result import gauge_of, limits_of
from rockhold.evidence.trust import Trust
from rockhold.evidence.verify import verify_bytes, verify_file
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import Trace


@dataclass(frozen=True, slots=True)
class Gathered:
    """A capture as found now; what cannot be had is None.

    Attributes:
        path: The file.
        found: What verification found.
        capture: Its lines.
        trace: The indicator's readings.
        limits: What its procedure asks for.
        result: What the readings give now.
        torque: The torque adapter's readings with their pulls.
        trouble: Why something is None, in a sentence; "" when nothing is.
        sha256: Of the file's bytes, hexadecimal; "" when they cannot be read.
    """

    path: Path
    found: Verification
    capture: Capture | None = None
    trace: Trace | None = None
    limits: EndPlayLimits | None = None
    result: EndPlayResult | None = None
    torque: TorqueTrace | None = None
    trouble: str = ""
    sha256: str = ""


def gather(path: Path, trust: Trust) -> Gathered:
    """Verify a capture and measure it again; a fault of the file is in the answer, not raised."""
    try:
        data = read_bytes(path)
    except CaptureError as error:
        return Gathered(path, verify_file(path, trust), trouble=str(error))
    found = verify_bytes(path, data, trust)
    digest = hashlib.sha256(data).hexdigest()
    capture = trace = limits = result = torque = None
    trouble = ""
    try:
        capture = parse_capture(path, data)
        torque = torque_trace_of(capture)
        limits = limits_of(capture)
        trace, turning = measured_readings(capture)
        result = measure_trace(trace, limits, gauge_of(capture), turning)
    except (CaptureError, MeasurementError) as error:
        trouble = str(error)
    except (RockholdError, ArithmeticError, ValueError, MemoryError) as error:
        # The last three only from numbers that no gauge shows.
        trouble = f"The readings cannot be measured: {error}"
    return Gathered(path, found, capture, trace, limits, result, torque, trouble, digest)

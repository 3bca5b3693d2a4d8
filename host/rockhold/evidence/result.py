"""The result of a capture, computed from its records and the procedure that it carries."""

import dataclasses

from rockhold.capture.reader import Capture
from rockhold.capture.tooling import INDICATOR, overdue_tools, tools_of
from rockhold.capture.trace import trace_of
from rockhold.errors import CaptureFormatError
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult
from rockhold.procedure.endplay import limits_from_text

# Base on the spindle end, plunger on the hub's face: pulling the hub out pushes the plunger in and
# the indication rises. Base on the hub, plunger on the spindle end: the other way round.
OUT_SIGN = {"spindle": 1, "hub": -1}


def limits_of(capture: Capture, instead: EndPlayLimits | None = None) -> EndPlayLimits:
    """Return the limits that the capture's own procedure and mount give.

    Args:
        capture: The capture.
        instead: Limits of another procedure; the mount is the capture's own all the same.

    Raises:
        CaptureFormatError: When the header lacks them.
        ProcedureError: When the procedure in the header cannot be used.
    """
    procedure = capture.header.get("procedure")
    text = procedure.get("text") if isinstance(procedure, dict) else None
    mount = capture.header.get("mount")
    if mount not in OUT_SIGN or (instead is None and not isinstance(text, str)):
        raise CaptureFormatError(
            f"{capture.path}: line 1 says nothing of the procedure or the mount", 1
        )
    limits = instead or limits_from_text(str(text), f"{capture.path}, procedure in line 1")
    return dataclasses.replace(limits, out_sign=OUT_SIGN[str(mount)])


def gauge_of(capture: Capture) -> GaugeFacts:
    """Return what the capture's header says of the indicator, and which tools were overdue."""
    overdue = overdue_tools(capture)
    for tool in tools_of(capture):
        if tool.get("kind") == INDICATOR:
            mpe_mm = tool.get("mpe_mm")
            return GaugeFacts(
                mpe_mm=float(mpe_mm) if isinstance(mpe_mm, int | float) else None,
                overdue=bool(overdue),
                name=", ".join(overdue),
            )
    return GaugeFacts(overdue=bool(overdue), name=", ".join(overdue))


def measure_capture(capture: Capture) -> EndPlayResult:
    """Measure a capture by its own procedure.

    Raises:
        RockholdError: When the capture holds no readings, or its header or a record is damaged.
    """
    return measure_trace(trace_of(capture), limits_of(capture), gauge_of(capture))


def result_of(capture: Capture) -> dict[str, object]:
    """Return the result as it stands in a capture's result line."""
    return measure_capture(capture).to_json()

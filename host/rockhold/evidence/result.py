"""The result of a capture, computed from its records and the procedure that it carries."""

import dataclasses
from collections.abc import Mapping
from typing import Any

from rockhold.capture.measured import measured_readings
from rockhold.capture.reader import Capture
from rockhold.capture.steps import measured_attempt
from rockhold.capture.tooling import INDICATOR, overdue_tools, tools_of
from rockhold.errors import CaptureFormatError, NotSettledError
from rockhold.measure.limits import OUT_SIGN, EndPlayLimits, GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult
from rockhold.procedure.load import procedure_from_text


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
    limits = instead or _own_limits(capture, str(text))
    return fitted(limits, str(mount), capture.header.get("wheel_end"))


def fitted(limits: EndPlayLimits, mount: str, wheel_end: object) -> EndPlayLimits:
    """Return a procedure's limits with what is known of the wheel end at hand.

    Args:
        limits: The procedure's.
        mount: "spindle" or "hub".
        wheel_end: Facts as in a header; thread and lock positions go before the procedure's.
    """
    facts = wheel_end if isinstance(wheel_end, Mapping) else {}
    threads, places = facts.get("threads_per_inch"), facts.get("lock_positions")
    known: dict[str, Any] = {"out_sign": OUT_SIGN[mount]}
    if isinstance(threads, int | float) and 1 <= threads <= 100:
        known["threads_per_inch"] = float(threads)
    if isinstance(places, int) and 1 <= places <= 1000:
        known["lock_positions"] = places
    return dataclasses.replace(limits, **known)


def _own_limits(capture: Capture, text: str) -> EndPlayLimits:
    procedure = procedure_from_text(text, f"{capture.path}, procedure in line 1")
    attempt = measured_attempt(capture)
    for step in procedure.steps:
        if step.end_play is not None and (attempt is None or step.id == attempt.step):
            return step.end_play
    raise NotSettledError("no end play was measured in this job")


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
    trace, turning = measured_readings(capture)
    return measure_trace(trace, limits_of(capture), gauge_of(capture), turning)


def result_of(capture: Capture) -> dict[str, object]:
    """Return the result as it stands in a capture's result line."""
    return measure_capture(capture).to_json()

"""What the index keeps of a capture's stored result and of its steps.

A wheel end whose nut was set between two measurements has two numbers in one capture: as found and
as left. `result` lines tell the last; the steps tell the first, and whether the nut was touched.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from rockhold.capture.names import text_of
from rockhold.capture.reader import Capture

ACCEPT, REJECT, UNDECIDED = "accept", "reject", "undecided"
_VERDICTS = (ACCEPT, REJECT, UNDECIDED)
_TURNS_THE_NUT = ("torque", "turn")
_DONE = "done"


@dataclass(frozen=True, slots=True)
class ResultFacts:
    """The stored result; None where nothing is said.

    Attributes:
        end_play_mm: As left.
        u_mm: Its standard uncertainty.
        expanded_mm: Its expanded uncertainty, 95 %.
        verdict: "accept", "reject", "undecided" or "".
        found_mm: As found, where the nut was set in this capture and measured before.
        found_u_mm: Its standard uncertainty.
        nut_set: Whether the steps say that the nut was turned.
        findings: (code, time in s), in order.
    """

    end_play_mm: float | None = None
    u_mm: float | None = None
    expanded_mm: float | None = None
    verdict: str = ""
    found_mm: float | None = None
    found_u_mm: float | None = None
    nut_set: bool = False
    findings: tuple[tuple[str, float | None], ...] = ()


NOTHING = ResultFacts()


def result_facts(capture: Capture) -> ResultFacts:
    """Return what a capture's last result line and its steps say."""
    lines = capture.of_kind("result")
    result = lines[-1]["result"] if lines else None
    if not isinstance(result, Mapping):
        result = {}
    verdict = result.get("verdict")
    nut_set, found_mm, found_expanded_mm = _steps(capture)
    factor = _number(result.get("coverage_factor")) or 2.0
    return ResultFacts(
        end_play_mm=_number(result.get("end_play_mm")),
        u_mm=_number(result.get("u_mm")),
        expanded_mm=_number(result.get("expanded_mm")),
        verdict=verdict if isinstance(verdict, str) and verdict in _VERDICTS else "",
        found_mm=found_mm,
        found_u_mm=None if found_expanded_mm is None else found_expanded_mm / factor,
        nut_set=nut_set,
        findings=_findings(result.get("findings")),
    )


def _steps(capture: Capture) -> tuple[bool, float | None, float | None]:
    """Return whether the nut was set, and end play before that with its expanded uncertainty."""
    before: tuple[float | None, float | None] = (None, None)
    done = [
        step
        for step in capture.of_kind("entry")
        if step["entry"] == "step" and step.get("outcome") == _DONE
    ]
    for step in done:
        values = step.get("values")
        if step.get("kind") in _TURNS_THE_NUT:
            return True, *before
        if step.get("kind") == "end_play" and isinstance(values, Mapping):
            before = (_number(values.get("end_play_mm")), _number(values.get("expanded_mm")))
    return False, None, None


def _findings(findings: object) -> tuple[tuple[str, float | None], ...]:
    return tuple(
        (text_of(one.get("code", "")), _number(one.get("at_s")))
        for one in (findings if isinstance(findings, list) else [])
        if isinstance(one, dict)
    )


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if isfinite(number) else None

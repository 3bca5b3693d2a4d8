"""The result of a measurement as plain values, and as the object that `measure --json` prints."""

from dataclasses import dataclass
from math import isfinite
from typing import Any

from rockhold.measure.advice import NutAdvice
from rockhold.measure.budget import BudgetRow


@dataclass(frozen=True, slots=True)
class HoldResult:
    """One hold: times in seconds of the board's clock, level in mm, side "out" or "in"."""

    start_s: float
    end_s: float
    level_mm: float
    side: str


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a person should know about the capture.

    Attributes:
        code: One of the codes of findings.TEXTS.
        at_s: When it happened, in seconds of the board's clock.
        text: What it means and what to do, in a sentence.
    """

    code: str
    at_s: float
    text: str


@dataclass(frozen=True, slots=True)
class EndPlayResult:
    """End play with its uncertainty, verdict and findings; None where nothing can be said.

    Attributes:
        end_play_mm: Axial distance between the settled positions out and in.
        u_mm: Combined standard uncertainty.
        expanded_mm: Expanded uncertainty at the procedure's coverage.
        coverage_factor: expanded_mm / u_mm.
        coverage: Probability that the interval of ± expanded_mm is meant to hold.
        dof: Effective degrees of freedom; infinite if nothing was estimated from scatter.
        conformity: Probability that the end play lies inside the tolerance band.
        verdict: "accept", "reject", "undecided" or None.
        holds: The holds that were measured, on one continuous coordinate.
        findings: What was noticed, in the order of time.
        budget: The uncertainty budget.
        cycles: Complete out-and-in pairs.
        drift_mm: Drift from the first hold to the last.
        step_mm: The gauge's count.
        rate_hz: Mean readings per second.
        accept_mm: The two acceptance limits (tolerance band less guard band).
        advice: How far to turn the nut, if that can be said.
        sentence: The result in words, with what would settle an undecided one.
        doubt: What cannot be ruled out of an end play inside the band though nothing was found,
            in words; it is part of the sentence, too. "" for nothing.
        turned: Where a motion sensor saw the wheel turn, as (from, to) in seconds; for pictures.
    """

    end_play_mm: float | None = None
    u_mm: float | None = None
    expanded_mm: float | None = None
    coverage_factor: float | None = None
    coverage: float | None = None
    dof: float | None = None
    conformity: float | None = None
    verdict: str | None = None
    holds: tuple[HoldResult, ...] = ()
    findings: tuple[Finding, ...] = ()
    budget: tuple[BudgetRow, ...] = ()
    cycles: int = 0
    drift_mm: float | None = None
    step_mm: float | None = None
    rate_hz: float | None = None
    accept_mm: tuple[float, float] | None = None
    advice: NutAdvice | None = None
    sentence: str = ""
    doubt: str = ""
    turned: tuple[tuple[float, float], ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the object for `measure --json`; infinite numbers become null."""
        return {
            "end_play_mm": _number(self.end_play_mm, 6),
            "u_mm": _number(self.u_mm, 6),
            "expanded_mm": _number(self.expanded_mm, 6),
            "coverage_factor": _number(self.coverage_factor, 4),
            "coverage": _number(self.coverage, 6),
            "dof": _dof(self.dof),
            "conformity": _number(self.conformity, 6),
            "verdict": self.verdict,
            "holds": [
                {
                    "start_s": _number(hold.start_s, 6),
                    "end_s": _number(hold.end_s, 6),
                    "level_mm": _number(hold.level_mm, 6),
                    "side": hold.side,
                }
                for hold in self.holds
            ],
            "findings": [
                {"code": f.code, "at_s": _number(f.at_s, 6), "text": f.text} for f in self.findings
            ],
            "cycles": self.cycles,
            "drift_mm": _number(self.drift_mm, 6),
            "step_mm": _number(self.step_mm, 8),
            "rate_hz": _number(self.rate_hz, 3),
            "accept_mm": None if self.accept_mm is None else [round(x, 6) for x in self.accept_mm],
            "budget": [
                {
                    "cause": row.cause,
                    "value_mm": _number(row.value_mm, 7),
                    "distribution": row.distribution,
                    "sensitivity": _number(row.sensitivity, 4),
                    "u_mm": _number(row.u_mm, 7),
                    "dof": _dof(row.dof),
                    "source": row.source,
                }
                for row in self.budget
            ],
            "advice": None
            if self.advice is None
            else {
                "turn_deg": _number(self.advice.turn_deg, 2),
                "lock_positions": _number(self.advice.lock_positions, 2),
                "target_mm": _number(self.advice.target_mm, 6),
            },
            "sentence": self.sentence,
        }


def _dof(value: float | None) -> float | None:
    # Above a million the t factor is the normal one to six digits: as good as infinite.
    return None if value is None or value > 1e6 else _number(value, 2)


def not_measured(why: str) -> EndPlayResult:
    """Return the result of a recording whose readings give no end play."""
    return EndPlayResult(sentence=f"Not measured: {why}")


def not_held(why: str) -> EndPlayResult:
    """Return the result of a file without readings in which anything could be a hold.

    Whoever reads only the findings learns why, too.
    """
    return EndPlayResult(findings=(Finding("no_hold", 0.0, why),), sentence="Not measured.")


def _number(value: float | None, places: int) -> float | None:
    return None if value is None or not isfinite(value) else round(value, places)

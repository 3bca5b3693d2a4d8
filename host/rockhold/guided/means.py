"""What a guided job is done with, apart from the procedure."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from rockhold.evidence.result import fitted
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.record.header import Job


@dataclass(frozen=True, slots=True)
class Means:
    """What the job is done with.

    Attributes:
        by: Who does it.
        fit: Brings a procedure's end-play limits to the mount and wheel end at hand.
        gauge: What is known of the indicator.
        tool: The torque tool's id, "" when none was named.
        threads: Threads per inch of the nut; 0 when not known.
    """

    by: str
    fit: Callable[[EndPlayLimits], EndPlayLimits] = lambda limits: limits
    gauge: GaugeFacts = field(default_factory=GaugeFacts)
    tool: str = ""
    threads: float = 0.0


def means_of(job: Job) -> Means:
    """Return what a job's header says it is done with."""
    facts: dict[str, Any] = dict(job.wheel_end)
    gauge = next((tool for tool in job.tools if tool.get("kind") == "indicator"), {})
    wrench = next((tool for tool in job.tools if tool.get("kind") != "indicator"), {})
    mpe_mm = gauge.get("mpe_mm")
    threads = facts.get("threads_per_inch")
    return Means(
        by=job.technician,
        fit=lambda limits: fitted(limits, job.mount, facts),
        gauge=GaugeFacts(float(mpe_mm) if isinstance(mpe_mm, int | float) else None),
        tool=str(wrench.get("id", "")),
        threads=float(threads) if isinstance(threads, int | float) else 0.0,
    )

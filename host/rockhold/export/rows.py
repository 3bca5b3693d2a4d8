"""Results as rows: one for each capture, whatever state it is in."""

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from pathlib import Path

from rockhold.evidence.trust import Trust
from rockhold.report.cells import text_of
from rockhold.report.gather import Gathered, gather

Row = dict[str, object]


def result_rows(files: Sequence[Path], trust: Trust) -> Iterator[Row]:
    """Yield a row for each file; a bad one has its trouble in it and stops nothing."""
    for path in files:
        yield result_row(gather(path, trust))


def result_row(job: Gathered) -> Row:
    """Return the row of a capture, with the names of columns.RESULTS."""
    header: Mapping[str, object] = job.capture.header if job.capture else {}
    review = next((seal for seal in reversed(job.found.seals) if seal.verdict), None)
    row: Row = {
        "file": str(job.path).encode("utf-8", "backslashreplace").decode(),
        "sha256": job.sha256 or None,
        "capture": _text(header.get("capture")),
        "opened_utc": _text(header.get("opened_utc")),
        "vehicle": _vehicle(header.get("vehicle")),
        "wheel_end": _text(header.get("wheel_end"), whole=False),
        "technician": _technician(header.get("people")),
        "state": job.found.state,
        "review": review.verdict if review else None,
        "reviewed_by": review.by if review else None,
        "trouble": job.trouble or None,
    }
    if job.limits is not None:
        row |= {"band_low_mm": job.limits.band_low_mm, "band_high_mm": job.limits.band_high_mm}
    return row | _measured(job)


def _measured(job: Gathered) -> Row:
    result = job.result
    if result is None:
        return {}
    return {
        "verdict": result.verdict,
        "end_play_mm": result.end_play_mm,
        "u_mm": result.u_mm,
        "expanded_mm": result.expanded_mm,
        "coverage_factor": result.coverage_factor,
        "dof": result.dof if result.dof is not None and isfinite(result.dof) else None,
        "conformity_probability": result.conformity,
        "cycles": result.cycles,
        "holds": len(result.holds),
        "drift_mm": result.drift_mm,
        "finding_codes": [finding.code for finding in result.findings],
    }


def _text(value: object, whole: bool = True) -> str | None:
    """Return a text; of an object its values, unless it must be whole."""
    if not whole and isinstance(value, Mapping):
        return ", ".join(text_of(part) for part in value.values()) or None
    return None if value in (None, "") else text_of(value)


def _vehicle(value: object) -> str | None:
    return _text(value.get("number")) if isinstance(value, Mapping) else None


def _technician(people: object) -> str | None:
    for person in people if isinstance(people, list) else []:
        if isinstance(person, Mapping) and person.get("role") == "technician":
            return _text(person.get("name"))
    return None

"""Read the end-play step of a procedure (TOML)."""

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from rockhold.errors import ProcedureError
from rockhold.measure.limits import OUT_SIGN, EndPlayLimits
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.fault import KeyFaultError, number, whole
from rockhold.procedure.toml_lines import line_of, parse

SHIPPED_END_PLAY = "end-play.toml"
_WHOLE = ("cycles_asked", "cycles_required", "lock_positions")
_POSITIVE = ("hold_s", "quiet_band_mm", "settle_s", "gap_s", "drift_limit_mm", "rock_angle_deg")
_ZERO_OR_MORE = ("guard_factor", "tilt_deg", "stop_angle_deg", "threads_per_inch")
_OPTIONAL = "preload_mm"  # procedures from before it was asked for have none
KEYS = frozenset(
    (*_WHOLE, *_POSITIVE, *_ZERO_OR_MORE, _OPTIONAL, "coverage", "base_on", "band_mm", "band_in")
)


def procedure_text(path: Path | None = None) -> str:
    """Return the text of a procedure file, or of the end-play one that comes with rockhold.

    Raises:
        ProcedureError: If the file cannot be read.
    """
    if path is None:
        folder = resources.files("rockhold.procedure").joinpath("shipped")
        return folder.joinpath(SHIPPED_END_PLAY).read_text("utf-8")
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ProcedureError(f"{path}: cannot read this procedure: {error}") from error


def shipped_limits() -> EndPlayLimits:
    """Return the limits of the end-play procedure that comes with rockhold."""
    return limits_from_text(procedure_text(), SHIPPED_END_PLAY)


def limits_from_text(text: str, where: str) -> EndPlayLimits:
    """Return the limits in the [end_play] table of a text; `where` names it in errors.

    Raises:
        ProcedureError: If there is none, or a key is missing, unknown or out of range.
    """
    return limits_from_document(parse(text, where), text, where)


def limits_from_document(document: Mapping[str, Any], text: str, where: str) -> EndPlayLimits:
    """Return the limits in the [end_play] table of a text that was parsed already.

    Raises:
        ProcedureError: As `limits_from_text`.
    """
    table = document.get("end_play")
    if not isinstance(table, dict):
        raise ProcedureError(f"{where}: has no table [end_play]; add one")
    try:
        return limits_from_table(table)
    except KeyFaultError as fault:
        line = line_of(text, ("end_play", fault.key)) or line_of(text, ("end_play",))
        raise ProcedureError(f"{where}, line {line}: end_play.{fault}") from fault


def limits_from_table(table: Mapping[str, Any]) -> EndPlayLimits:
    """Return the limits in a table that holds nothing else.

    Raises:
        KeyFaultError: At the first key that is missing, unknown or out of range.
    """
    for key in table:
        if key not in KEYS:
            raise KeyFaultError(key, f"unknown key; known are {', '.join(sorted(KEYS))}")
    low_mm, high_mm = _band_mm(table)
    values: dict[str, Any] = {key: whole(table, key) for key in _WHOLE}
    values |= {key: number(table, key, above=0.0) for key in _POSITIVE}
    values |= {key: number(table, key, least=0.0) for key in _ZERO_OR_MORE}
    if _OPTIONAL in table:
        values[_OPTIONAL] = number(table, _OPTIONAL, least=0.0)
    coverage = number(table, "coverage", above=0.0)
    if coverage >= 1:
        raise KeyFaultError("coverage", f"must be below 1, is {coverage}")
    if values["cycles_required"] < 2:
        raise KeyFaultError("cycles_required", "must be 2 or more")
    if values["cycles_asked"] < values["cycles_required"]:
        raise KeyFaultError("cycles_asked", "must not be below cycles_required")
    base_on = table.get("base_on")
    if base_on not in OUT_SIGN:
        raise KeyFaultError("base_on", 'write "spindle" or "hub"')
    return EndPlayLimits(
        band_low_mm=low_mm,
        band_high_mm=high_mm,
        coverage=coverage,
        out_sign=OUT_SIGN[base_on],
        **values,
    )


def _band_mm(table: Mapping[str, Any]) -> tuple[float, float]:
    if ("band_mm" in table) == ("band_in" in table):
        raise KeyFaultError("band_mm", "give either band_mm or band_in")
    key, scale = ("band_mm", 1.0) if "band_mm" in table else ("band_in", MM_PER_INCH)
    band = table[key]
    if not (isinstance(band, list) and len(band) == 2 and all(map(_is_number, band))):
        raise KeyFaultError(key, "write two numbers, [low, high]")
    low, high = band
    if not 0 <= low < high:
        raise KeyFaultError(key, f"needs 0 <= low < high, is {band}")
    return low * scale, high * scale


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)

"""Read the end-play step of a procedure file (TOML)."""

import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

from rockhold.errors import ProcedureError
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.trace import MM_PER_INCH

SHIPPED_END_PLAY = "end-play.toml"
_OUT_SIGN = {"spindle": 1, "hub": -1}
_WHOLE = ("cycles_asked", "cycles_required", "lock_positions")
_POSITIVE = ("hold_s", "quiet_band_mm", "settle_s", "gap_s", "drift_limit_mm", "rock_angle_deg")
_ZERO_OR_MORE = ("guard_factor", "tilt_deg", "stop_angle_deg", "threads_per_inch")
_KEYS = frozenset(
    (*_WHOLE, *_POSITIVE, *_ZERO_OR_MORE, "coverage", "base_on", "band_mm", "band_in")
)


def procedure_text(path: Path | None = None) -> str:
    """Return the text of a procedure file, or of the one that comes with rockhold.

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
    """Return the limits of the procedure that comes with rockhold."""
    return limits_from_text(procedure_text(), SHIPPED_END_PLAY)


def load_limits(path: Path) -> EndPlayLimits:
    """Return the limits in a procedure file.

    Raises:
        ProcedureError: If the file cannot be read, or a key is missing, unknown or out of range.
    """
    return limits_from_text(procedure_text(path), str(path))


def limits_from_text(text: str, where: str) -> EndPlayLimits:
    """Return the limits in the text of a procedure; `where` names it in errors."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProcedureError(f"{where}: not valid TOML: {error}") from error
    table = document.get("end_play")
    if not isinstance(table, dict):
        raise ProcedureError(f"{where}: has no table [end_play]; add one")
    return limits_from_table(table, where)


def limits_from_table(table: dict[str, Any], where: str) -> EndPlayLimits:
    """Return the limits in an [end_play] table; `where` names the file in errors."""
    for key in table:
        if key not in _KEYS:
            known = ", ".join(sorted(_KEYS))
            raise ProcedureError(f"{where}: end_play.{key}: unknown key; known are {known}")
    low_mm, high_mm = _band_mm(table, where)
    values: dict[str, Any] = {key: _whole(table, key, where) for key in _WHOLE}
    values |= {key: _number(table, key, where, above=0.0) for key in _POSITIVE}
    values |= {key: _number(table, key, where, least=0.0) for key in _ZERO_OR_MORE}
    coverage = _number(table, "coverage", where, above=0.0)
    if coverage >= 1:
        raise ProcedureError(f"{where}: end_play.coverage: must be below 1, is {coverage}")
    if values["cycles_required"] < 2:
        raise ProcedureError(f"{where}: end_play.cycles_required: must be 2 or more")
    if values["cycles_asked"] < values["cycles_required"]:
        raise ProcedureError(f"{where}: end_play.cycles_asked: must not be below cycles_required")
    base_on = table.get("base_on")
    if base_on not in _OUT_SIGN:
        raise ProcedureError(f'{where}: end_play.base_on: write "spindle" or "hub"')
    return EndPlayLimits(
        band_low_mm=low_mm,
        band_high_mm=high_mm,
        coverage=coverage,
        out_sign=_OUT_SIGN[base_on],
        **values,
    )


def _band_mm(table: dict[str, Any], where: str) -> tuple[float, float]:
    if ("band_mm" in table) == ("band_in" in table):
        raise ProcedureError(f"{where}: end_play: give either band_mm or band_in")
    key, scale = ("band_mm", 1.0) if "band_mm" in table else ("band_in", MM_PER_INCH)
    band = table[key]
    if not (isinstance(band, list) and len(band) == 2 and all(map(_is_number, band))):
        raise ProcedureError(f"{where}: end_play.{key}: write two numbers, [low, high]")
    low, high = band
    if not 0 <= low < high:
        raise ProcedureError(f"{where}: end_play.{key}: needs 0 <= low < high, is {band}")
    return low * scale, high * scale


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(
    table: dict[str, Any], key: str, where: str, above: float | None = None, least: float = 0.0
) -> float:
    value = table.get(key)
    if value is None:
        raise ProcedureError(f"{where}: end_play.{key}: is missing")
    if not _is_number(value):
        raise ProcedureError(f"{where}: end_play.{key}: must be a number, is {value!r}")
    if above is not None and not value > above:
        raise ProcedureError(f"{where}: end_play.{key}: must be above {above:g}, is {value}")
    if not least <= value < 1e6:
        raise ProcedureError(f"{where}: end_play.{key}: must be {least:g} or more, is {value}")
    return float(value)


def _whole(table: dict[str, Any], key: str, where: str) -> int:
    value = table.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise ProcedureError(f"{where}: end_play.{key}: must be a whole number, is {value!r}")
    return value

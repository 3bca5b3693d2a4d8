"""The stored result against the one that the records give.

A later rockhold may measure in a better way and then gives other last digits. Each result line
says by which method it was made; a result by an older one need only agree within its own
uncertainty, and in the verdict.
"""

from collections.abc import Callable
from math import isclose

from rockhold.capture.reader import Capture
from rockhold.errors import MeasurementError
from rockhold.evidence.findings import ResultFound
from rockhold.evidence.method import METHOD
from rockhold.measure.result import EndPlayResult

# Another computer's arithmetic may differ in the last places of a rounded number; two
# thousandths of a micrometre, or a hundred-thousandth of the value, mean nothing at a wheel end.
_RELATIVE = 1e-5
_ABSOLUTE = 2e-6
_MUST_HAVE = ("end_play_mm", "expanded_mm", "verdict", "findings")
_WORDS = ("text", "sentence", "source", "cause")  # wording may change from version to version


def compare_results(
    capture: Capture, compute: Callable[[Capture], dict[str, object] | None]
) -> ResultFound:
    """Compute the result again and compare every stored result with it.

    Names that only the computed result has are let pass: a newer rockhold may tell more. Where
    `compute` gives None, the stored result is told and nothing is said of it.

    Raises:
        RockholdError: When the capture's header or a record cannot be used.
    """
    stored = [
        (number, value["result"], method_of(value))
        for number, value in capture.others
        if next(iter(value)) == "result"
    ]
    if not stored:
        return ResultFound(0, None, "", "", 0)
    line, last, last_method = stored[-1]
    sentence, verdict = "", ""
    if isinstance(last, dict):
        sentence, verdict = str(last.get("sentence", "")), str(last.get("verdict") or "")
    try:
        computed = compute(capture)
    except MeasurementError as error:
        computed = EndPlayResult().to_json()
        reason = f" ({error})"
    else:
        reason = ""
    if computed is None:
        return ResultFound(line, None, sentence, "", last_method, verdict)
    for number, value, by_method in stored:
        difference = _first_difference(value, computed, by_method)
        if difference:
            return ResultFound(number, False, sentence, difference + reason, by_method, verdict)
    return ResultFound(line, True, sentence, "", last_method, verdict)


def _first_difference(stored: object, computed: dict[str, object], by_method: int) -> str:
    if not isinstance(stored, dict):
        return "the result line holds no result"
    missing = [name for name in _MUST_HAVE if name not in stored]
    if missing:
        return f"the stored result does not say {missing[0]}"
    if by_method > METHOD:
        return f"it was made by method {by_method}; this rockhold knows {METHOD}. Use a newer one"
    if by_method < METHOD:
        return _differ_by_older_method(stored, computed)
    return _differ("", stored, computed)


def method_of(line: dict[str, object]) -> int:
    """Return by which method a result line says it was made; 0 when it says nothing."""
    method = line.get("method")
    return method if isinstance(method, int) and not isinstance(method, bool) else 0


def _differ_by_older_method(stored: dict[str, object], computed: dict[str, object]) -> str:
    if stored["verdict"] != computed["verdict"]:
        return _differ("verdict", stored["verdict"], computed["verdict"])
    was, now, within = stored["end_play_mm"], computed["end_play_mm"], stored["expanded_mm"]
    if isinstance(was, float) and isinstance(now, float) and isinstance(within, float):
        return "" if abs(was - now) <= within else _differ("end_play_mm", was, now)
    return _differ("end_play_mm", was, now)


def _differ(where: str, stored: object, computed: object) -> str:
    if isinstance(stored, dict) and isinstance(computed, dict):
        for name, value in stored.items():
            if name not in _WORDS:
                difference = _differ(
                    f"{where}.{name}" if where else name, value, computed.get(name)
                )
                if difference:
                    return difference
        return ""
    if isinstance(stored, list) and isinstance(computed, list):
        if len(stored) != len(computed):
            return f"{where}: {len(stored)} stored, the readings give {len(computed)}"
        pairs = enumerate(zip(stored, computed, strict=True), start=1)
        return next((d for n, (a, b) in pairs if (d := _differ(f"{where} {n}", a, b))), "")
    return (
        "" if _same(stored, computed) else f"{where}: {stored} stored, the readings give {computed}"
    )


def _same(stored: object, computed: object) -> bool:
    numbers = (int, float)
    if isinstance(stored, bool) or isinstance(computed, bool):
        return stored is computed
    if isinstance(stored, numbers) and isinstance(computed, numbers):
        return isclose(stored, computed, rel_tol=_RELATIVE, abs_tol=_ABSOLUTE)
    return stored == computed

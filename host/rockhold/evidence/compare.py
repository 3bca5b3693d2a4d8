"""The stored result against the one that the records give."""

from collections.abc import Callable
from math import isclose

from rockhold.capture.reader import Capture
from rockhold.errors import MeasurementError
from rockhold.evidence.findings import ResultFound

# Another computer's arithmetic may differ in the last places of a rounded number; a thousandth of
# a micrometre, or a millionth of the value, means nothing at a wheel end.
_RELATIVE = 1e-5
_ABSOLUTE = 2e-6
_MUST_HAVE = ("end_play_mm", "expanded_mm", "verdict", "findings")
_WORDS = ("text", "sentence", "source", "cause")  # wording may change from version to version


def compare_results(
    capture: Capture, compute: Callable[[Capture], dict[str, object]]
) -> ResultFound:
    """Compute the result again and compare every stored result with it.

    Names that only the computed result has are let pass: a newer rockhold may tell more.

    Raises:
        RockholdError: When the capture's header or a record cannot be used.
    """
    stored = [
        (number, value["result"])
        for number, value in capture.others
        if next(iter(value)) == "result"
    ]
    if not stored:
        return ResultFound(0, None, "", "")
    line, last = stored[-1]
    sentence = str(last.get("sentence", "")) if isinstance(last, dict) else ""
    try:
        computed = compute(capture)
    except MeasurementError as error:
        computed = {"end_play_mm": None, "expanded_mm": None, "verdict": None, "findings": []}
        reason = f" ({error})"
    else:
        reason = ""
    for number, value in stored:
        difference = _first_difference(value, computed)
        if difference:
            return ResultFound(number, False, sentence, difference + reason)
    return ResultFound(line, True, sentence, "")


def _first_difference(stored: object, computed: dict[str, object]) -> str:
    if not isinstance(stored, dict):
        return "the result line holds no result"
    missing = [name for name in _MUST_HAVE if name not in stored]
    if missing:
        return f"the stored result does not say {missing[0]}"
    return _differ("", stored, computed)


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

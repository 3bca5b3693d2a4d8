"""From the table of one step to its values."""

from collections.abc import Mapping
from typing import Any

from rockhold.measure.torque.units import FACTORS, LBF_FT, LBF_IN, NM
from rockhold.procedure import model as p
from rockhold.procedure.endplay import KEYS as END_PLAY_KEYS
from rockhold.procedure.endplay import limits_from_table
from rockhold.procedure.fault import KeyFaultError, choice, number, turn, whole, words

_UNITS = {"torque_nm": NM, "torque_lbfft": LBF_FT, "torque_lbfin": LBF_IN}
_COMMON = ("id", "kind", "title", "text", "source", "caution", "on_fail", "go_back_to")
_KEYS: dict[str, tuple[str, ...]] = {
    p.CHECK: ("shows",),
    p.TORQUE: (*_UNITS, "within_percent", "pulls", "wheel", "order"),
    p.TURN: ("turn", "by_thread", "direction", "marks"),
    p.END_PLAY: tuple(END_PLAY_KEYS),
    p.FILL: ("level",),
    p.SPIN: (),
}
# A reader wants to know how sure a number is: the source begins with one of these.
_SOURCES = (
    "common practice",
    "published: ",
    "from memory",
    "fleet rule",
    "arithmetic",
    "own choice",
)


def step_from_table(table: Mapping[str, Any]) -> p.Step:
    """Return a step.

    Raises:
        KeyFaultError: At the first key that is missing, unknown or out of range.
    """
    kind = choice(table, "kind", p.KINDS)
    known = (*_COMMON, "after_failed", *_KEYS[kind])
    for key in table:
        if key not in known:
            raise KeyFaultError(key, f"unknown key in a {kind} step; known are {', '.join(known)}")
    source = words(table, "source")
    if not source.startswith(_SOURCES):
        raise KeyFaultError("source", f"begin with one of: {', '.join(_SOURCES)}")
    own = {key: table[key] for key in _KEYS[kind] if key in table}
    return p.Step(
        id=words(table, "id", 40),
        kind=kind,
        title=words(table, "title", 60),
        text=words(table, "text"),
        source=source,
        caution=_may(table, "caution"),
        on_fail=_may(table, "on_fail"),
        go_back_to=_may(table, "go_back_to"),
        after_failed=_may(table, "after_failed"),
        torque=_torque(own) if kind == p.TORQUE else None,
        turn=_turn(own) if kind == p.TURN else None,
        end_play=limits_from_table(own) if kind == p.END_PLAY else None,
        level=words(table, "level", 120) if kind == p.FILL else "",
        shows_indication="shows" in own and choice(own, "shows", ("indication",)) == "indication",
    )


def _may(table: Mapping[str, Any], key: str) -> str:
    return words(table, key) if key in table else ""


def _torque(table: Mapping[str, Any]) -> p.TorqueTarget:
    given = [key for key in _UNITS if key in table]
    if len(given) != 1:
        raise KeyFaultError("torque_nm", f"give one of {', '.join(_UNITS)}")
    unit = _UNITS[given[0]]
    nm = float(FACTORS[unit])
    low, target, high = _window(table, given[0])
    order = table.get("order", [])
    if not isinstance(order, list) or sorted(map(repr, order)) != sorted(
        map(repr, range(1, len(order) + 1))
    ):
        raise KeyFaultError(
            "order", f"write each bolt's number once, as in [1, 3, 2, 4]; is {order!r}"
        )
    return p.TorqueTarget(
        low_nm=low * nm,
        high_nm=high * nm,
        target_nm=target * nm,
        unit=unit,
        pulls=whole(table, "pulls", 1),
        wheel_turned=choice(table, "wheel", ("turned", "still")) == "turned",
        order=tuple(order),
    )


def _window(table: Mapping[str, Any], key: str) -> tuple[float, float, float]:
    """Return least, target and most in the unit of the key."""
    value = table[key]
    if isinstance(value, list):
        if "within_percent" in table:
            raise KeyFaultError(
                "within_percent", f"stands beside a window; write {key} as one number"
            )
        low, high = _two(key, value)
        return low, 0.5 * (low + high), high
    target = number(table, key, above=0.0)
    below, above = _two("within_percent", table.get("within_percent"))
    if not below < 100:
        raise KeyFaultError("within_percent", f"the first must be below 100, is {below:g}")
    return target * (1 - below / 100), target, target * (1 + above / 100)


def _two(key: str, value: object) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise KeyFaultError(key, f"write two numbers, as in [4, 10]; is {value!r}")
    pair = dict(zip(("0", "1"), value, strict=True))
    try:
        first, second = number(pair, "0", above=0.0), number(pair, "1", above=0.0)
    except KeyFaultError as fault:
        raise KeyFaultError(key, f"write two numbers above zero; is {value!r}") from fault
    if key != "within_percent" and not first < second:
        raise KeyFaultError(key, f"the first must be below the second, is {value!r}")
    return first, second


def _turn(table: Mapping[str, Any]) -> p.TurnTarget:
    if ("turn" in table) == ("by_thread" in table):
        raise KeyFaultError("turn", "give either turn or by_thread")
    marks = whole(table, "marks") if "marks" in table else 0
    value = table.get("turn")
    if value == "advised":
        return p.TurnTarget(advised=True, marks=marks)
    direction = choice(table, "direction", (p.LOOSEN, p.TIGHTEN))
    if "by_thread" in table:
        rows = _by_thread(table["by_thread"])
        turns = [rev for _, rev in rows]
        return p.TurnTarget(min(turns), max(turns), rows, False, direction, marks)
    pair = value if isinstance(value, list) else [value, value]
    if len(pair) != 2:
        raise KeyFaultError("turn", f'write one turn or two, as in ["1/6", "1/4"]; is {value!r}')
    low, high = turn("turn", pair[0]), turn("turn", pair[1])
    if low > high:
        raise KeyFaultError("turn", f"the first must not be above the second, is {value!r}")
    return p.TurnTarget(low, high, (), False, direction, marks)


def _by_thread(value: object) -> tuple[tuple[float, float], ...]:
    if not isinstance(value, dict) or not value:
        raise KeyFaultError(
            "by_thread", 'write threads per inch and turn, as in {12 = "1/3", 18 = "1/2"}'
        )
    rows = []
    for threads, rev in value.items():
        try:
            count = float(threads)
        except ValueError as error:
            raise KeyFaultError(
                "by_thread", f"{threads!r} is no number of threads per inch"
            ) from error
        if not 1 <= count <= 100:
            raise KeyFaultError(
                "by_thread", f"{threads!r} threads per inch are none that a nut has"
            )
        rows.append((count, turn("by_thread", rev)))
    return tuple(sorted(rows))

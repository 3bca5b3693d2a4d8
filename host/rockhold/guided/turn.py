"""How far the nut is turned: as the procedure says, by its thread, or by the measured end play."""

from rockhold.guided.history import History
from rockhold.measure.result import EndPlayResult
from rockhold.procedure import model as p

WHICH_THREAD = "Which thread does this nut have? Press its number."


def is_thread_known(target: p.TurnTarget, threads: float) -> bool:
    """Return whether the turn follows from the nut's thread; `threads` per inch, 0 if unknown."""
    return any(one == threads for one, _ in target.by_thread)


def turn_asked(target: p.TurnTarget, threads: float) -> float:
    """Return the turn that a step asks for, in revolutions."""
    return dict(target.by_thread).get(threads, target.low_rev)


def advised(history: History, step: p.Step) -> dict[str, object]:
    """Return the turn that follows from the end play measured last; empty when none does."""
    failed = history.last(step.after_failed)
    advice = failed.values.get("advice") if failed is not None else None
    keys = ("turn_rev", "lock_positions", "direction", "threads_per_inch")
    return {key: advice[key] for key in keys if key in advice} if isinstance(advice, dict) else {}


def chosen(target: p.TurnTarget, key: str) -> dict[str, object] | None:
    """Return the turn for the thread whose number was pressed, None if there is none."""
    rows = target.by_thread
    if not (key.isdigit() and 1 <= int(key) <= len(rows)):
        return None
    threads, rev = rows[int(key) - 1]
    return {**turned(rev, target), "threads_per_inch": threads}


def as_asked(target: p.TurnTarget, threads: float) -> dict[str, object]:
    """Return the turn as the procedure asks for it, for a step's line."""
    values = turned(turn_asked(target, threads), target)
    if target.high_rev != target.low_rev and not target.by_thread:
        values["turn_rev_at_most"] = round(target.high_rev, 4)
    return values


def turned(rev: float, target: p.TurnTarget) -> dict[str, object]:
    """Return a turn in revolutions as it stands in a step's line."""
    places = round(rev * target.marks) if target.marks else None
    return {"turn_rev": round(rev, 4), "lock_positions": places, "direction": target.direction}


def is_inside(result: EndPlayResult) -> bool:
    """Return whether the end play lies between the acceptance limits, whatever else was found."""
    if result.accept_mm is None or result.end_play_mm is None:
        return False
    return result.accept_mm[0] <= result.end_play_mm <= result.accept_mm[1]


def advice_of(result: EndPlayResult, threads: float) -> dict[str, object] | None:
    """Return the turn that a measured end play asks for; None when it asks for none.

    It asks for none where it lies well inside the band, though something else forbids accepting it.

    Args:
        result: The measurement.
        threads: Threads per inch that the turn was worked out with.
    """
    if result.advice is None or is_inside(result):
        return None
    places = result.advice.lock_positions
    return {
        "turn_rev": round(abs(result.advice.turn_deg) / 360, 4),
        "lock_positions": None if places is None else round(abs(places)),
        "direction": p.LOOSEN if result.advice.turn_deg > 0 else p.TIGHTEN,
        "threads_per_inch": threads,
    }

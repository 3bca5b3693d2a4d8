"""What a person sees of a guided job: one thing at a time, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass

from rockhold.guided import course as c
from rockhold.guided import turn
from rockhold.guided.run import REASONS, JobRun
from rockhold.measure.findings import TEXTS
from rockhold.measure.torque.units import from_nm
from rockhold.procedure import model as p
from rockhold.procedure.words import limits_words, turn_words

_SPIN = {
    "smooth": "Does it turn SMOOTH?",
    "quiet": "Is it QUIET?",
    "free": "Does it run FREE, without a catch or a stop?",
}
_BY_HAND = "[SPACE] one pull made   "
_MEASURE_AGAIN = "That says nothing of the nut: measure again."
_ELSE = "[N] no   [S] skip   [B] back   [Q] stop for today"


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen.

    Attributes:
        top: Where in the job.
        title: What this is about.
        big: A number to be drawn large, "" for none.
        unit: Its unit.
        todo: What to do now, emphasised.
        mood: "good", "busy" or "bad".
        body: Paragraphs.
        caution: What must be heeded.
        keys: What the keys do.
    """

    top: str
    title: str
    big: str = ""
    unit: str = ""
    todo: str = ""
    mood: str = "busy"
    body: tuple[str, ...] = ()
    caution: str = ""
    keys: str = ""


def screen_of(run: JobRun) -> Screen:
    """Return what a job shows now."""
    if run.phase in (c.REVIEW, c.ENDED):
        return _review(run)
    step = run.step
    total = len(run.procedure.steps)
    top = f"{run.procedure.title}   step {run.index + 1} of {total}"
    if run.phase == c.WRITE:
        return _write(run, top)
    if run.phase == c.FAILED_:
        return _failed(run, top)
    if run.phase == c.ACTIVE:
        return _active(run, top)
    body = [step.text]
    limits = limits_words(step)
    if limits:
        body.append(f"Limits: {limits}")
    before = run.before()
    if before is not None:
        body.append(f"Last time: {before.outcome}. {_sentence(before.because)}".strip())
    if step.shows_indication and run.plunger.noted:
        body.append(f"Free, the plunger stood at {run.plunger.noted}.")
    if run.said:
        body.append(_sentence(run.said))
    big, _, unit = run.plunger.value.partition(" ") if step.shows_indication else ("", "", "")
    todo, keys = _ask(run)
    if before is not None:
        keys += "   [F] on to what is due"
    big, unit = big or str(run.index + 1), unit or f"of {total}"
    return Screen(top, step.title, big, unit, todo, "busy", tuple(body), step.caution, keys)


def _ask(run: JobRun) -> tuple[str, str]:
    step = run.step
    if step.kind in (p.TORQUE, p.END_PLAY):
        return "READY? Then begin", f"[SPACE] begin   {_ELSE}"
    if step.kind == p.SPIN:
        assert run.spinning is not None
        return _SPIN[run.spinning.asks], f"[SPACE] yes   {_ELSE}"
    if step.kind == p.TURN:
        return _ask_turn(run)
    if step.kind == p.FILL:
        return f"FILL up to the {step.level}", f"[SPACE] done   {_ELSE}"
    free = "[P] the plunger hangs free   " if step.shows_indication else ""
    return "IS IT SO?", f"[SPACE] yes   {free}{_ELSE}"


def _ask_turn(run: JobRun) -> tuple[str, str]:
    target = run.step.turn
    assert target is not None
    keys = f"[SPACE] done   {_ELSE}"
    if target.advised:
        return _advised_words(run.advised()), keys
    if target.by_thread and not turn.is_thread_known(target, run.threads):
        rows = [
            f"[{at}] {threads:g} threads: {turn_words(rev)}"
            for at, (threads, rev) in enumerate(target.by_thread, start=1)
        ]
        return "WHICH THREAD? Turn, then press its number", "   ".join(rows) + f"   {_ELSE}"
    words = turn_words(turn.turn_asked(target, run.threads))
    if target.low_rev != target.high_rev and not target.by_thread:
        words += f" to {turn_words(target.high_rev)}"
    return f"{target.direction.upper()} {words}", keys


def _advised_words(values: dict[str, object]) -> str:
    turn_rev, places = values.get("turn_rev"), values.get("lock_positions")
    if not isinstance(turn_rev, float):
        return "No turn can be worked out: see the maker's instructions"
    way = "BACK OFF" if values.get("direction") == p.LOOSEN else "TIGHTEN"
    marks = f", {places} lock position{'' if places == 1 else 's'}" if places else ""
    threads = values.get("threads_per_inch")
    thread = f" (for {threads:g} threads per inch)" if isinstance(threads, int | float) else ""
    return f"{way} the nut by {turn_rev * 360:.0f}°{marks}{thread}"


def _active(run: JobRun, top: str) -> Screen:
    step = run.step
    if run.pulling is not None and step.torque is not None:
        return _pulling(run, top)
    assert run.measuring is not None
    following = run.measuring.following
    big, _, unit = following.value.partition(" ")
    body = (following.summary(), *((_sentence(run.said),) if run.said else ()))
    keys = "[SPACE] measure   [R] begin again   [N] failed   [S] skip   [Q] stop for today"
    mood = "good" if following.settled else "busy"
    todo = following.to_do + ("; press the space bar" if following.done else "")
    return Screen(top, step.title, big, unit, todo, mood, body, step.caution, keys)


def _pulling(run: JobRun, top: str) -> Screen:
    step, pulling = run.step, run.pulling
    assert pulling is not None
    target = step.torque
    assert target is not None
    at = min(pulling.count, target.pulls_in_all - 1)
    todo = f"PULL {at + 1} of {target.pulls_in_all}"
    if target.order:
        todo += f": SCREW {pulling.due_screw}"
    elif target.wheel_turned and at and not pulling.turned:
        todo = f"TURN THE WHEEL, then {todo}"
    shown = ""
    if pulling.torque_nm is not None:
        shown = str(round(from_nm(pulling.torque_nm, target.unit)))  # never -0
    space = _BY_HAND
    if pulling.heard:
        space = "[SPACE] wheel turned   " if target.wheel_turned else ""
    screws = f"[1-{max(target.order)}] it was that screw   " if target.order else ""
    body = (f"Limits: {limits_words(step)}", _sentence(run.said))
    return Screen(
        top,
        step.title,
        shown or str(pulling.count),
        target.unit if shown else "pulls",
        pulling.said if pulling.too_much else todo,
        "bad" if pulling.too_much else "busy",
        tuple(line for line in body if line),
        step.caution,
        f"{space}{screws}[R] begin again   [N] failed   [S] skip   [Q] stop for today",
    )


def _failed(run: JobRun, top: str) -> Screen:
    before = run.before()
    values = before.values if before is not None else {}
    body = [_sentence(before.because) if before is not None else "", _found_words(values)]
    body.append(_MEASURE_AGAIN if run.measure_again else run.step.on_fail)
    advice = values.get("advice")
    if isinstance(advice, dict):
        body.append(_advised_words(advice) + ", then measure again.")
    space = "measure again" if run.measure_again else "mend it and do it again"
    keys = f"[SPACE] {space}   [N] leave it so and go on   [B] back   [Q] stop for today"
    return Screen(
        top, run.step.title, "", "", "NOT AS IT SHOULD BE", "bad",
        tuple(line for line in body if line), run.step.caution, keys,
    )  # fmt: skip


def _found_words(values: Mapping[str, object]) -> str:
    """Return what a measurement that stands in the way of itself found: it is to be mended."""
    codes = values.get("findings") if values.get("inside_limits") else None
    texts = [TEXTS[code] for code in codes if code in TEXTS] if isinstance(codes, list) else []
    return " ".join(("Found:", *texts)) if texts else ""


def _write(run: JobRun, top: str) -> Screen:
    body = tuple(f"{number}  {text}" for number, text in enumerate(REASONS, start=1))
    skipping = run.writing == "skipped"
    return Screen(
        top, run.step.title, "", "", "WHY IS IT SKIPPED?" if skipping else "WHAT IS WRONG?",
        "busy", body if skipping else (), "", "Type the reason" + (" or its number" * skipping)
        + ", then ENTER. ENTER alone goes back",
    )  # fmt: skip


def _review(run: JobRun) -> Screen:
    points = run.history.open_points()
    body = tuple(f"{step.title}: {words}" for step, words in points[:10])
    if len(points) > 10:
        body += (f"and {len(points) - 10} more",)
    todo = "EVERY STEP IS DONE" if not points else f"NOT DONE: {len(points)} of the steps"
    if run.stopped:
        todo = f"STOPPED FOR TODAY. {todo}"
    keys = "[SPACE] finish and seal   [B] back   [Q] stop for today"
    return Screen(
        run.procedure.title, "The job", "", "", todo, "bad" if points else "good", body,
        "No verdict is permission to drive. The maker's instructions and the law come first.",
        keys if run.phase == c.REVIEW else "",
    )  # fmt: skip


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]

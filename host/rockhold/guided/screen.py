"""What a person sees of a guided job: one thing at a time, as plain values and as lines."""

import textwrap
from dataclasses import dataclass

from rockhold.guided import run as r
from rockhold.guided import turn
from rockhold.measure.torque.units import from_nm
from rockhold.procedure import model as p
from rockhold.procedure.words import limits_words, turn_words
from rockhold.record.bigdigits import enlarge

_CLEAR_TO_END = "\x1b[K"
_BOLD, _PLAIN = "\x1b[1m", "\x1b[0m"
_GOOD, _BUSY, _BAD = "\x1b[30;42m", "\x1b[30;43m", "\x1b[30;41m"
_GROUND = {"good": _GOOD, "busy": _BUSY, "bad": _BAD}
_SPIN = {
    "smooth": "Does it turn SMOOTH?",
    "quiet": "Is it QUIET?",
    "free": "Does it run FREE, without a catch or a stop?",
}
_BY_HAND = "[SPACE] one pull made   "
_MEASURE_AGAIN = "Nothing was measured, so nothing is known of the nut: measure again."
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


def screen_of(run: r.JobRun) -> Screen:
    """Return what a job shows now."""
    if run.phase in (r.REVIEW, r.ENDED):
        return _review(run)
    step = run.step
    total = len(run.procedure.steps)
    top = f"{run.procedure.title}   step {run.index + 1} of {total}"
    if run.phase == r.WRITE:
        return _write(run, top)
    if run.phase == r.FAILED_:
        return _failed(run, top)
    if run.phase == r.ACTIVE:
        return _active(run, top)
    body = [step.text]
    limits = limits_words(step)
    if limits:
        body.append(f"Limits: {limits}")
    before = run.before()
    if before is not None:
        body.append(f"Last time: {before.outcome}. {_sentence(before.because)}".strip())
    if run.said:
        body.append(_sentence(run.said))
    todo, keys = _ask(run)
    if before is not None:
        keys += "   [F] on to what is due"
    return Screen(
        top, step.title, str(run.index + 1), f"of {total}", todo, "busy", tuple(body),
        step.caution, keys,
    )  # fmt: skip


def _ask(run: r.JobRun) -> tuple[str, str]:
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
    return "IS IT SO?", f"[SPACE] yes   {_ELSE}"


def _ask_turn(run: r.JobRun) -> tuple[str, str]:
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


def _active(run: r.JobRun, top: str) -> Screen:
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


def _pulling(run: r.JobRun, top: str) -> Screen:
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


def _failed(run: r.JobRun, top: str) -> Screen:
    before = run.before()
    values = before.values if before is not None else {}
    body = [_sentence(before.because) if before is not None else ""]
    body.append(_MEASURE_AGAIN if run.nothing_measured else run.step.on_fail)
    advice = values.get("advice")
    if isinstance(advice, dict):
        body.append(_advised_words(advice) + ", then measure again.")
    space = "measure again" if run.nothing_measured else "mend it and do it again"
    keys = f"[SPACE] {space}   [N] leave it so and go on   [B] back   [Q] stop for today"
    return Screen(
        top, run.step.title, "", "", "NOT AS IT SHOULD BE", "bad",
        tuple(line for line in body if line), run.step.caution, keys,
    )  # fmt: skip


def _write(run: r.JobRun, top: str) -> Screen:
    body = tuple(f"{number}  {text}" for number, text in enumerate(r.REASONS, start=1))
    skipping = run.writing == "skipped"
    return Screen(
        top, run.step.title, "", "", "WHY IS IT SKIPPED?" if skipping else "WHAT IS WRONG?",
        "busy", body if skipping else (), "", "Type the reason" + (" or its number" * skipping)
        + ", then ENTER. ENTER alone goes back",
    )  # fmt: skip


def _review(run: r.JobRun) -> Screen:
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
        keys if run.phase == r.REVIEW else "",
    )  # fmt: skip


def lines_of(screen: Screen, columns: int = 80) -> list[str]:
    """Return a screen as plain lines, words unbroken."""
    lines = [f"{screen.top}", f"{screen.title.upper()}"]
    lines += _wrapped(screen.body, columns)
    if screen.caution:
        lines += _wrapped((f"CAUTION: {screen.caution}",), columns)
    lines += _wrapped((screen.todo,), columns)
    return lines


def keys_lines(screen: Screen, columns: int) -> list[str]:
    """Return what the keys do as lines; a key and its meaning stay on one line."""
    together = "   ".join(
        one.replace(" ", "\xa0") if one.startswith("[") else one for one in screen.keys.split("   ")
    )
    return [line.replace("\xa0", " ") for line in textwrap.wrap(together, columns)]


def painted(screen: Screen, columns: int, rows: int, block: str, coloured: bool) -> list[str]:
    """Return a screen as the lines of a terminal, at most `rows` of them."""
    width = min(columns - 2, 100)
    ground = _GROUND[screen.mood] if coloured else ""
    large = [f"  {row}" for row in enlarge(screen.big, block)] if screen.big else []
    if large:
        large[-1] += f"  {screen.unit}"
        large.append("")
    title = f" {_BOLD}{screen.title.upper()}{_PLAIN}"
    todo = [f"  {_BOLD}{ground} {line} {_PLAIN}" for line in textwrap.wrap(screen.todo, width - 4)]
    keys = [f" {line}" for line in keys_lines(screen, width)]
    body = [f" {line}" for line in _wrapped(screen.body, width)]
    caution = [
        f" {_BOLD}{line}{_PLAIN}"
        for line in _wrapped((f"CAUTION: {screen.caution}",) if screen.caution else (), width)
    ]
    top = [f" {screen.top[: width - 1]}", "", title, ""]
    foot = ["", *todo, "", *keys]
    room = rows - 1 - len(top) - len(foot) - len(caution)
    middle = [*large, *body]
    if len(middle) > room:  # the words matter more than the large digits
        middle = body[: max(room, 0)]
    return [*top, *middle, *caution, *foot][: rows - 1]


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wrapped(paragraphs: tuple[str, ...], columns: int) -> list[str]:
    return [line for text in paragraphs for line in textwrap.wrap(text, columns)]


def drawn(lines: list[str]) -> str:
    """Return what puts lines on a terminal in place of what stood there."""
    return "\x1b[H" + "".join(f"{line}{_CLEAR_TO_END}\r\n" for line in lines) + "\x1b[J"

"""A procedure in plain words, for a screen or a sheet of paper."""

from rockhold.measure.torque.units import from_nm
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure import model as p

_FRACTIONS = {
    1 / 16: "1/16",
    1 / 6: "1/6",
    1 / 4: "1/4",
    1 / 3: "1/3",
    1 / 2: "1/2",
    1.0: "one full",
}


def torque_words(target: p.TorqueTarget, nm: float) -> str:
    """Return a torque in the procedure's unit, and in N·m where that is another."""
    if target.unit == "N·m":
        return f"{nm:.4g} N·m"
    return f"{from_nm(nm, target.unit):.4g} {target.unit} ({nm:.4g} N·m)"


def turn_words(rev: float) -> str:
    """Return a turn as the trade says it, with degrees."""
    for value, words in _FRACTIONS.items():
        if abs(rev - value) < 1e-6:
            return f"{words} turn ({rev * 360:.3g}°)"
    return f"{rev:.3g} turn ({rev * 360:.3g}°)"


def limits_words(step: p.Step) -> str:
    """Return the numbers of a step in one line; "" for a step without any."""
    if step.torque is not None:
        return _torque(step.torque)
    if step.turn is not None:
        return _turn(step.turn)
    if step.end_play is not None:
        low, high = step.end_play.band_low_mm, step.end_play.band_high_mm
        return (
            f"{low / MM_PER_INCH:.4g} to {high / MM_PER_INCH:.4g} in ({low:.3g} to {high:.3g} mm), "
            f"{step.end_play.cycles_asked} times out and in"
        )
    return f"up to the {step.level}" if step.level else ""


def _torque(target: p.TorqueTarget) -> str:
    text = f"{torque_words(target, target.low_nm)} to {torque_words(target, target.high_nm)}"
    pulls = f"{target.pulls} pull{'s' if target.pulls > 1 else ''}"
    if target.order:
        return f"{text}, {pulls} at each, in the order {' '.join(map(str, target.order))}"
    return f"{text}, {pulls}" + (", wheel turned in between" if target.wheel_turned else "")


def _turn(target: p.TurnTarget) -> str:
    marks = f", {target.marks} marks in a turn" if target.marks else ""
    if target.advised:
        return "as the measured end play asks for" + marks
    if target.by_thread:
        rows = [f"{count:g} threads per inch {turn_words(rev)}" for count, rev in target.by_thread]
        return f"{target.direction}: {', '.join(rows)}{marks}"
    if target.low_rev == target.high_rev:
        return f"{target.direction} {turn_words(target.low_rev)}{marks}"
    return (
        f"{target.direction} {turn_words(target.low_rev)} to {turn_words(target.high_rev)}{marks}"
    )


def sheet(procedure: p.Procedure) -> list[str]:
    """Return a whole procedure as lines, not yet broken to a width."""
    lines = [f"{procedure.name}: {procedure.title}"]
    if procedure.source:
        lines.append(f"Source: {procedure.source}")
    if procedure.caution:
        lines.append(f"CAUTION: {procedure.caution}")
    for number, step in enumerate(procedure.steps, start=1):
        lines += [
            "",
            f"{number}. {step.title}  [{step.kind}; id {step.id}]",
            f"   {step.text}",
        ]
        limits = limits_words(step)
        rows = (
            ("Limits", limits),
            ("CAUTION", step.caution),
            ("If it fails", step.on_fail),
            ("Only after this has failed", step.after_failed),
            ("Source", step.source),
        )
        lines += [f"   {name}: {text}" for name, text in rows if text]
    return lines

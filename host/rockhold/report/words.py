"""What a person reads: the cautions of the trade, and a result in words."""

from collections.abc import Mapping
from typing import Any

from rockhold.measure.decision import ACCEPT, REJECT
from rockhold.measure.findings import NEVER_ACCEPT, TEXTS
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import EndPlayResult, Finding
from rockhold.measure.trace import MM_PER_INCH
from rockhold.measure.words import largest_cause, what_settles
from rockhold.report.units import US, Units

# Common practice in heavy-vehicle workshops, no source. The maker's instructions come first.
CAUTIONS = (
    "Before you rock the wheel: level ground, wheels chocked, the axle on rated stands and never "
    "on a jack alone.",
    "Eye protection on; hands clear of the gap between tyre and body; wheel assemblies are heavy.",
    "No impact wrench on spindle nuts. The maker's instructions, the fleet's rules and the law "
    "come first.",
    "This work is for trained people. A verdict is never permission to drive: the wheel must also "
    "turn smooth, quiet and free.",
)


def result_lines(row: Mapping[str, Any]) -> list[str]:
    """Return a result, as the object that `measure --json` prints, in lines for a person."""
    lines = []
    if row["end_play_mm"] is not None:
        value, expanded = row["end_play_mm"], row["expanded_mm"]
        lines.append(
            f"End play {value / MM_PER_INCH:.5f} in ± {expanded / MM_PER_INCH:.5f} in"
            f"   ({value:.4f} mm ± {expanded:.4f} mm, {percent(row['coverage'])})"
        )
    if row["verdict"]:
        lines.append(f"Verdict: {row['verdict']}")
    if row["sentence"]:
        lines.append(row["sentence"])
    if row["verdict"] and (nut := nut_words(row, US)):
        lines.append(nut)
    lines += [f"At {f['at_s']:.2f} s: {f['code']}: {f['text']}" for f in row["findings"]]
    return lines


# What makes a measurement impossible, as measure/measure.py decides.
_BLOCKING = ("no_hold", "one_sided", "few_cycles")


def answer(result: EndPlayResult, limits: EndPlayLimits, units: Units) -> str:
    """Return the plain sentence that comes first: the number, the band, and the verdict."""
    if result.end_play_mm is None or result.expanded_mm is None or result.verdict is None:
        blocking = [found for found in result.findings if found.code in _BLOCKING]
        texts = dict.fromkeys(found.text for found in blocking or result.findings[-1:])
        why = " ".join(list(texts)[:2])
        return f"No end play could be measured. {why}".strip()
    value = units.value(result.end_play_mm, result.expanded_mm)
    give = units.value(result.expanded_mm, result.expanded_mm)
    return (
        f"The end play is {value} {units.length}, give or take {give}. The tolerance band is "
        f"{band(limits, units)}. {_why(result, limits)}"
    )


def band(limits: EndPlayLimits, units: Units) -> str:
    """Return the tolerance band, without the unit."""
    return f"{units.plain(limits.band_low_mm)} to {units.plain(limits.band_high_mm)}"


def _why(result: EndPlayResult, limits: EndPlayLimits) -> str:
    assert result.end_play_mm is not None
    value_mm, low_mm, high_mm = result.end_play_mm, limits.band_low_mm, limits.band_high_mm
    inside = low_mm <= value_mm <= high_mm
    if result.verdict == ACCEPT:
        room_mm = min(value_mm - low_mm, high_mm - value_mm)
        if result.expanded_mm is not None and room_mm >= result.expanded_mm:
            return "It lies inside, with room for what it may be off: accept."
        return "It lies inside the procedure's acceptance limits: accept."
    if result.verdict == REJECT:
        where = "below" if value_mm < low_mm else "above"
        return f"It lies {'outside the acceptance limits' if inside else where + ' it'}: reject."
    if barred(result):
        return f"It lies inside, but {forbidding(result)} forbids accepting it: undecided."
    if not result.budget:
        return "It lies too near a limit: undecided."
    nearest_mm = min(abs(value_mm - low_mm), abs(value_mm - high_mm))
    settles = what_settles(largest_cause(result.budget), nearest_mm)
    return f"It lies too near a limit to decide: undecided. {settles}"


def forbidding(result: EndPlayResult) -> str:
    """Return what forbids accepting a number that lies inside the band."""
    found = any(finding.code in NEVER_ACCEPT for finding in result.findings)
    return "what was found" if found or not result.doubt else "a doubt"


def barred(result: EndPlayResult) -> bool:
    """Say whether a number that could be accepted is not, because of a finding or a doubt."""
    if result.verdict in (ACCEPT, REJECT) or result.accept_mm is None or not result.end_play_mm:
        return False
    return result.accept_mm[0] <= result.end_play_mm <= result.accept_mm[1]


def what_uncertainty_means(result: EndPlayResult, limits: EndPlayLimits, units: Units) -> str:
    """Say what the interval of a result is, for a reader who never met one."""
    if result.end_play_mm is None or result.expanded_mm is None:
        return ""
    low, high = (
        units.value(result.end_play_mm + sign * result.expanded_mm, result.expanded_mm)
        for sign in (-1, 1)
    )
    text = (
        f"With {percent(limits.coverage)} confidence the end play lies between {low} and {high} "
        f"{units.length}."
    )
    if result.conformity is not None:
        text += f" The chance that it lies inside the band is {percent(result.conformity)}."
    return text


def percent(share: float) -> str:
    """Return a probability as a reader takes it: never a 100 % that rounding made."""
    if share > 0.999:
        return "more than 99.9 %"
    return "less than 0.1 %" if share < 0.001 else f"{100 * share:.3g} %"


def nut_words(row: Mapping[str, Any], units: Units) -> str:
    """Say how far to turn the nut, where that can be said and a turn is called for; else "".

    Args:
        row: A result, as the object that `measure --json` prints.
        units: In which lengths are said.
    """
    advice = row["advice"]
    if advice is None or row["verdict"] == ACCEPT or abs(advice["turn_deg"]) < 0.5:
        return ""
    way = "Back the nut off" if advice["turn_deg"] > 0 else "Tighten the nut"
    places = ""
    if advice["lock_positions"] is not None:
        places = f", {abs(advice['lock_positions']):.1f} lock positions,"
    return (
        f"{way} by {abs(advice['turn_deg']):.0f}°{places} to come to the middle of the band, "
        f"{units.plain(advice['target_mm'])} {units.length}; then measure again. The maker's "
        "instructions come first."
    )


def finding_words(finding: Finding, result: EndPlayResult, units: Units) -> str:
    """Return a finding's sentence in one system of units."""
    if finding.code == "drifting" and result.drift_mm is not None:
        return f"{TEXTS['drifting']} {units.plain(result.drift_mm, 2)} {units.length} in all."
    return finding.text

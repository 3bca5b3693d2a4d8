"""What a person should know about a capture: codes, sentences, and which forbid `accept`."""

from dataclasses import dataclass

from rockhold.measure.result import Finding

TEXTS = {
    "plunger_dropped": "The plunger fell into a hole; look whether it is bent; if so, measure "
    "again with a sound one.",
    "contact_lost": "The plunger lost contact; give it more preload and measure again.",
    "zero_pressed": "The gauge's zero was pressed; the step is taken out of the result.",
    "base_moved": "The base was knocked; set it up anew and measure again.",
    "drifting": "The levels drift; look for a base that creeps, then measure again.",
    "no_hold": "The wheel was not held still long enough; stop, hold, then change sides.",
    "short_hold": "A hold was too short; hold until the signal comes.",
    "one_sided": "The readings show one side only. Pull out and push in, in turn, at least twice; "
    "if they still do, there is no play to measure: the bearing may be preloaded.",
    "few_cycles": "Fewer cycles than the procedure asks for.",
    "data_gap": "Readings are missing here.",
    "gauge_frozen": "One number was shown for too long: the gauge froze, or the wheel was left "
    "standing. Check the cable, and measure again without a pause.",
    "unit_changed": "The gauge's unit was changed; the readings are converted.",
    "coarse_gauge": "One count of this gauge is large against the band; use a finer one.",
    "low_preload": "The plunger was hardly pushed in, and a little more of the hub's travel would "
    "have left it at its free stop; give it more preload.",
    "tool_overdue": "The calibration of a tool was overdue; have it calibrated.",
}

# With one of these the readings cannot be trusted to show the wheel end, whatever they say.
NEVER_ACCEPT = frozenset({"base_moved", "contact_lost", "gauge_frozen"})


@dataclass(frozen=True, slots=True)
class Reserve:
    """What a reader of an end play inside the band should know, where nothing was found.

    Attributes:
        text: It in words, "" for nothing.
        forbids_accept: Whether the verdict can then only be `undecided`.
    """

    text: str = ""
    forbids_accept: bool = False


def finding(code: str, at_s: float, more: str = "") -> Finding:
    """Return a finding with its sentence, followed by `more` if given."""
    text = TEXTS[code]
    return Finding(code, at_s, f"{text} {more}" if more else text)


def in_order(found: list[Finding]) -> tuple[Finding, ...]:
    """Return findings in the order of time, each code at most once per moment."""
    unique = {(f.code, f.at_s): f for f in found}
    return tuple(sorted(unique.values(), key=lambda f: (f.at_s, f.code)))

"""Whether a wheel that was spun by hand runs down evenly: a catch, a stop or a knock is a finding.

Friction slows a good wheel evenly, and a tyre out of balance swings it a little; neither makes a
step in the turning rate. So two short straight lines, one before and one after each moment, are
compared where they meet: what both sides bend alike cancels, a step stays. A knock is a jump of
the acceleration beyond what gravity does to a sensor that turns.

Whether the wheel is free, smooth and quiet stays for the person to say: nobody has measured how
fast a good wheel slows. Thresholds are from the simulator, not from a workshop.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.errors import TooFewSamplesError
from rockhold.measure.hub.turning import LONGEST_GAP_S, Turning

Floats = NDArray[np.float64]

CAUGHT, STOPPED, KNOCK = "spin_caught", "spin_stopped", "spin_knock"
TEXTS = {
    CAUGHT: "The wheel caught and ran on. Look for a rough bearing or a dragging brake.",
    STOPPED: "The wheel stopped at once. If that was no hand, find out what holds it.",
    KNOCK: "Something knocked in the wheel. Look for a damaged roller or a loose part.",
}

LEAST_DEG_S = 60.0  # a slower push tells nothing
_SLOW_DEG_S = 10.0  # below this the run is over
_SIDE_S = 0.3  # length of the line on either side
_APART_S = 0.03  # from the moment to where each line begins
_STEP_DEG_S, _STEP_SHARE = 4.0, 0.04  # a step is larger than both
_SETTLE_S = 0.25  # the hand lets go
_TOGETHER_S = 0.4  # steps and knocks this close are one
_KNOCK_MG = 150.0
_GRAVITY_MG = 1000.0
_SAMPLE_S = 0.01  # of the sensor's own samples, between which knocks are looked for


@dataclass(frozen=True, slots=True)
class SpinFinding:
    """Something in the run: code, time in µs, and angle in degrees since it was fastest."""

    code: str
    at_us: int
    angle_deg: float
    text: str


@dataclass(frozen=True, slots=True)
class SpinFound:
    """How a wheel ran down.

    Attributes:
        start_us: When it was fastest; about when the hand let go.
        end_us: When it was nearly at rest.
        speed_deg_s: How fast it was.
        turned_rev: How far it ran, in turns.
        slowing_deg_s2: Mean slowing.
        findings: In order of time.
        smooth: Whether it neither caught nor stopped.
        quiet: Whether nothing knocked; None without a sensor for it.
    """

    start_us: int
    end_us: int
    speed_deg_s: float
    turned_rev: float
    slowing_deg_s2: float
    findings: tuple[SpinFinding, ...]
    smooth: bool
    quiet: bool | None

    def to_json(self) -> dict[str, object]:
        """Return plain values, for a capture's line and for `--json`."""
        return {
            "start_us": self.start_us,
            "end_us": self.end_us,
            "speed_deg_s": round(self.speed_deg_s, 2),
            "turned_rev": round(self.turned_rev, 3),
            "slowing_deg_s2": round(self.slowing_deg_s2, 3),
            "smooth": self.smooth,
            "quiet": self.quiet,
            "findings": [
                {
                    "code": one.code,
                    "at_s": round(one.at_us / 1e6, 6),
                    "angle_deg": round(one.angle_deg, 1),
                    "text": one.text,
                }
                for one in self.findings
            ],
        }


@dataclass(frozen=True, slots=True)
class Knocks:
    """Largest jump of the acceleration in each tenth of a second: times in s, jumps in mg."""

    t_s: Floats
    knock_mg: Floats


def check_spin(turning: Turning, knocks: Knocks | None, from_us: int, to_us: int) -> SpinFound:
    """Return how the wheel ran down after its fastest moment between two times.

    Args:
        turning: The hub's turning rate.
        knocks: The jumps of the acceleration; None without them.
        from_us: Begin of the step, in µs.
        to_us: Its end, in µs.

    Raises:
        TooFewSamplesError: When the sensor was not heard all the time, or the wheel was not spun.
    """
    run = _Run.of(turning, from_us, to_us)
    steps = _steps(run)
    found = [_step_finding(run, at, left, right) for at, left, right in steps]
    if knocks is not None:
        found += _knock_findings(run, knocks, [one.at_us / 1e6 for one in found])
    ran_s = float(run.t_s[run.end] - run.t_s[run.start])
    fastest, last = float(run.rate[run.start]), float(run.rate[run.end])
    return SpinFound(
        round(float(run.t_s[run.start]) * 1e6),
        round(float(run.t_s[run.end]) * 1e6),
        fastest,
        float(run.angle_deg[run.end]) / 360,
        (fastest - last) / ran_s,
        tuple(sorted(found, key=lambda one: one.at_us)),
        not steps,
        None if knocks is None else not any(one.code == KNOCK for one in found),
    )


@dataclass(frozen=True, slots=True)
class _Run:
    """The run-down, forward positive; `start` and `end` are places in the arrays."""

    t_s: Floats
    rate: Floats
    angle_deg: Floats
    start: int
    end: int

    @classmethod
    def of(cls, turning: Turning, from_us: int, to_us: int) -> "_Run":
        first, last = np.searchsorted(turning.t_s, [from_us / 1e6, to_us / 1e6])
        t_s, rate = turning.t_s[first:last], turning.rate_deg_s[first:last]
        if len(t_s) < 10:
            raise TooFewSamplesError("the motion sensor was not heard; ask the person instead")
        start = int(np.argmax(np.abs(rate)))
        if abs(rate[start]) < LEAST_DEG_S:
            raise TooFewSamplesError(
                f"the wheel was not spun: {abs(rate[start]):.0f} °/s is the most. Give it a strong "
                "turn and let go"
            )
        rate = rate * np.sign(rate[start])
        slow = np.flatnonzero(rate[start:] < _SLOW_DEG_S)
        end = start + int(slow[0]) if len(slow) else len(rate) - 1
        if float(np.diff(t_s[start : end + 1]).max(initial=0.0)) > LONGEST_GAP_S or end == start:
            raise TooFewSamplesError("the motion sensor was not heard all the time")
        steps = (rate[1:] + rate[:-1]) / 2 * np.diff(t_s)
        angle = np.concatenate(([0.0], np.cumsum(steps)))
        return cls(t_s, rate, angle - angle[start], start, end)


def _steps(run: _Run) -> list[tuple[int, float, float]]:
    """Return the places where the rate steps down, with the rate before and after."""
    candidates = []
    for at in range(run.start + 1, min(run.end + 2, len(run.t_s) - 1)):
        when = float(run.t_s[at])
        if when < run.t_s[run.start] + _SETTLE_S:
            continue
        left = _line(run, when - _SIDE_S, when - _APART_S, when)
        right = _line(run, when + _APART_S, when + _SIDE_S, when)
        # A wheel that comes to rest bends there, too.
        if left is None or right is None or left < 2 * _SLOW_DEG_S:
            continue
        if left - right > max(_STEP_DEG_S, _STEP_SHARE * left):
            candidates.append((at, left, max(0.0, right)))
    steps: list[tuple[int, float, float]] = []
    for one in candidates:
        if steps and run.t_s[one[0]] - run.t_s[steps[-1][0]] < _TOGETHER_S:
            if one[1] - one[2] > steps[-1][1] - steps[-1][2]:
                steps[-1] = one
        else:
            steps.append(one)
    return steps


def _line(run: _Run, from_s: float, to_s: float, at_s: float) -> float | None:
    """Return what the straight line through a stretch of the rate gives at a moment."""
    first, last = np.searchsorted(run.t_s, [from_s, to_s])
    if last - first < 5:
        return None
    _, level = np.polyfit(run.t_s[first:last] - at_s, run.rate[first:last], 1)
    return float(level)


def _step_finding(run: _Run, at: int, left: float, right: float) -> SpinFinding:
    code = STOPPED if right < _SLOW_DEG_S else CAUGHT
    text = f"{TEXTS[code]} From {left:.0f} to {right:.0f} °/s."
    return SpinFinding(code, round(float(run.t_s[at]) * 1e6), float(run.angle_deg[at]), text)


def _knock_findings(run: _Run, knocks: Knocks, taken_s: list[float]) -> list[SpinFinding]:
    """Return knocks in the run that do not belong to a step."""
    begin_s, end_s = float(run.t_s[run.start]) + _SETTLE_S, float(run.t_s[run.end])
    rate = np.interp(knocks.t_s, run.t_s, run.rate)
    turning = _GRAVITY_MG * np.radians(np.abs(rate)) * _SAMPLE_S
    loud = (knocks.knock_mg > _KNOCK_MG + 1.5 * turning) & (knocks.t_s > begin_s)
    found = []
    for at_s, size in zip(knocks.t_s[loud].tolist(), knocks.knock_mg[loud].tolist(), strict=True):
        if at_s > end_s + _TOGETHER_S or any(abs(at_s - t) < _TOGETHER_S for t in taken_s):
            continue
        taken_s.append(at_s)
        angle = float(np.interp(at_s, run.t_s, run.angle_deg))
        text = f"{TEXTS[KNOCK]} {size:.0f} mg."
        found.append(SpinFinding(KNOCK, round(at_s * 1e6), angle, text))
    return found

"""A torque step while it goes on: pulls found in the adapter's readings, or counted by hand."""

import numpy as np

from rockhold.capture.channels import TORQUE, TURNING, kind_of, values_of
from rockhold.measure.hub.turning import Turning
from rockhold.measure.torque.events import OverTorque, Pull, PullEnded
from rockhold.measure.torque.judge import (
    ABOVE,
    BELOW,
    STOOD,
    JudgedPull,
    TorqueStep,
    counted,
    judge_pulls,
)
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.patterns import OrderFound, check_order
from rockhold.measure.torque.pulls import PullTracker
from rockhold.procedure.model import TorqueTarget
from rockhold.procedure.words import torque_words
from rockwire import messages as m

_TURN_REV = 1.0  # of the wheel, from one pull to the next; common practice, no source
_WHY_NOT = {
    BELOW: "too little torque; relax the wrench and pull again",
    ABOVE: "TOO MUCH TORQUE",
    STOOD: "the wheel was not turned; turn it, then press the space bar and pull again",
}


class Pulling:
    """One attempt at a torque step.

    Args:
        target: What the step asks for.

    Attributes:
        said: What to tell the person about the last pull.
        torque_nm: What the adapter shows; None while none was heard.
        too_much: Whether a pull went beyond what is allowed.
        turned: Whether the person said since the last pull that the wheel was turned.
    """

    def __init__(self, target: TorqueTarget) -> None:
        self._target = target
        self._tracker = PullTracker(PullLimits.for_target(target.low_nm, target.high_nm))
        turn_rev = _TURN_REV if target.wheel_turned else 0.0
        self._step = TorqueStep(target.low_nm, target.high_nm, target.pulls_in_all, turn_rev)
        self._pulls: list[Pull] = []
        self._confirmed: list[bool] = []
        self.turned = False
        self._by_hand = 0
        self._screws: list[int] = []  # of a circle, in the order in which they were tightened
        self._rates: list[tuple[int, float]] = []
        self.said = ""
        self.torque_nm: float | None = None
        self.too_much = False

    @property
    def heard(self) -> bool:
        """Whether an adapter sends its readings."""
        return self.torque_nm is not None

    @property
    def going(self) -> bool:
        """Whether a pull is on its way."""
        return self._tracker.going_nm is not None

    @property
    def peaks_nm(self) -> list[float]:
        """The peak of each pull so far, whether or not it counts."""
        return [pull.peak_nm for pull in self._pulls]

    @property
    def count(self) -> int:
        """How many pulls count so far."""
        return counted(self._judged()) if self.heard else self._by_hand

    @property
    def complete(self) -> bool:
        """Whether enough pulls count, and none of a circle's screws was left out."""
        return self.count >= self._target.pulls_in_all and self.due_screw is None

    @property
    def due_screw(self) -> int | None:
        """The screw of a circle whose turn it is; None without one, or when all are tight."""
        return self._order().due if self._target.order else None

    def at_screw(self, number: int) -> None:
        """Take from the person that the last pull was at another screw than the one shown."""
        if number not in self._target.order:
            self.said = f"there is no screw {number} in this circle" if self._target.order else ""
            return
        if not self._screws:
            return
        self._screws[-1] = number
        wrong = self._order().out_of_turn
        late = wrong and wrong[-1].place == len(self._screws)
        self.said = f"noted: screw {number}" + (", OUT OF TURN" if late else "")

    def press(self) -> None:
        """Take the space bar: a pull was made, or, with an adapter, the wheel was turned."""
        if not self.heard:
            self._by_hand += 1
            self._tightened()
            self.said = f"pull {self._by_hand} noted by you, without an adapter"
        else:
            self.turned = True
            self.said = "wheel turned; pull"

    def feed(self, message: tuple[object, ...]) -> bool:
        """Take readings; say whether there is something new to show."""
        if not isinstance(message, m.Readings):
            return False
        kind = kind_of(message)
        if kind == TURNING:
            self._rates += zip(message.t_us, values_of(message), strict=True)
        if kind != TORQUE:
            return False
        for t_us, self.torque_nm in zip(message.t_us, values_of(message), strict=True):
            for event in self._tracker.feed(t_us, self.torque_nm):
                self._take(event)
        return True

    def _take(self, event: object) -> None:
        if isinstance(event, OverTorque):
            self.too_much = True
            self.said = f"TOO MUCH: {torque_words(self._target, event.torque_nm)}. Stop"
        elif isinstance(event, PullEnded):
            self._pulls.append(event.pull)
            self._confirmed.append(self.turned)
            self.turned = False
            last = self._judged()[-1]
            if last.counts:
                self._tightened()
            peak = torque_words(self._target, event.pull.peak_nm)
            self.said = f"pull of {peak} counts" if last.counts else _why_not(last, peak)
            self.too_much |= last.because == ABOVE

    def _tightened(self) -> None:
        due = self.due_screw
        if due is not None:
            self._screws.append(due)

    def _order(self) -> OrderFound:
        return check_order(self._target.order, self._screws, self._target.pulls)

    def _judged(self) -> tuple[JudgedPull, ...]:
        if not self._rates:
            return judge_pulls(self._pulls, self._step, confirmed=self._confirmed)
        times, rates = zip(*self._rates, strict=True)
        turning = Turning.of(np.array(times, dtype=np.int64), np.array(rates))
        return judge_pulls(self._pulls, self._step, turning.turned_rev, self._confirmed)

    def values(self) -> dict[str, object]:
        """Return what belongs into the step's line."""
        target = self._target
        pulls = [
            {
                "start_us": one.pull.start_us,
                "peak_us": one.pull.peak_us,
                "end_us": one.pull.end_us,
                "peak_nm": round(one.pull.peak_nm, 3),
                "click": one.pull.click,
                "turned": one.turned,
                "counts": one.counts,
            }
            for one in self._judged()
        ]
        return {
            "target_nm": round(target.target_nm, 3),
            "low_nm": round(target.low_nm, 3),
            "high_nm": round(target.high_nm, 3),
            "shown_unit": target.unit,
            "pulls": pulls,
            "counted_by_person": 0 if self.heard else self._by_hand,
            "bolt_order": list(target.order),
            "bolts_tightened": list(self._screws),
            "out_of_turn": [
                {"place": one.place, "screw": one.screw, "due": one.due}
                for one in (self._order().out_of_turn if target.order else ())
            ],
        }


def _why_not(last: JudgedPull, peak: str) -> str:
    return f"pull of {peak} does not count: {_WHY_NOT[last.because]}"

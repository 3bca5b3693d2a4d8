"""Which pulls of a torque step count: the torque was right, and the wheel was turned in between.

Common practice, no source: the wheel is turned while the nut is drawn up, so that the rollers find
their place; a second pull on a wheel that stands still says nothing new.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rockhold.errors import OutOfRangeError
from rockhold.measure.torque.events import Pull

BY_SENSOR, BY_PERSON, NOT_TURNED = "by sensor", "by person", "no"
BELOW, ABOVE, STOOD = "below", "above", "not turned"
TURN_SHARE = 0.8  # of the turn asked for: a hand turns about, and so does a sensor's offset

Turned = Callable[[int, int], float | None]


@dataclass(frozen=True, slots=True)
class TorqueStep:
    """What a torque step asks for; torques in N·m at the nut.

    Attributes:
        low_nm: The least that counts.
        high_nm: The most that counts.
        pulls: How many pulls must count.
        turn_rev: How far the wheel is turned from one to the next, in turns; 0 for not at all.
    """

    low_nm: float
    high_nm: float
    pulls: int = 1
    turn_rev: float = 0.0

    @classmethod
    def within(
        cls, target_nm: float, mpe_percent: float, pulls: int = 1, turn_rev: float = 0.0
    ) -> "TorqueStep":
        """Return a step whose pulls reach a target within the tool's limit of error.

        Args:
            target_nm: What is asked for, in N·m.
            mpe_percent: The tool's limit of error, half width, in per cent.
            pulls: As in the class.
            turn_rev: As in the class.
        """
        share = mpe_percent / 100
        return cls((1 - share) * target_nm, (1 + share) * target_nm, pulls, turn_rev)

    def __post_init__(self) -> None:
        if not (0 < self.low_nm <= self.high_nm and self.pulls >= 1 and self.turn_rev >= 0):
            raise OutOfRangeError(
                f"a torque step needs 0 < low ≤ high, one pull or more and no negative turn, has "
                f"{self.low_nm} to {self.high_nm} N·m, {self.pulls} pulls, {self.turn_rev} turns"
            )


@dataclass(frozen=True, slots=True)
class JudgedPull:
    """A pull and what became of it.

    Attributes:
        pull: The pull.
        counts: Whether it counts.
        because: Why not: BELOW, ABOVE or STOOD; "" when it counts.
        turned: Whether the wheel was turned since the last pull that counted: BY_SENSOR,
            BY_PERSON or NOT_TURNED; None for the first, or where no turn is asked for.
        turned_rev: How far, as the sensor has it; None without one.
    """

    pull: Pull
    counts: bool
    because: str
    turned: str | None
    turned_rev: float | None


def never_known(from_us: int, to_us: int) -> float | None:
    """Say that no sensor saw how far the wheel was turned."""
    return None


def judge_pulls(
    pulls: Sequence[Pull],
    step: TorqueStep,
    turned: Turned = never_known,
    confirmed: Sequence[bool] = (),
) -> tuple[JudgedPull, ...]:
    """Return for each pull whether it counts.

    Args:
        pulls: In the order of time.
        step: What is asked for.
        turned: Returns how many turns the wheel made between two times in µs; None where no
            sensor saw it (rockhold.measure.hub.Turning.turned_rev).
        confirmed: For each pull, whether a person says that the wheel was turned before it; what
            a sensor saw goes before it. Missing ones are taken as no.
    """
    judged: list[JudgedPull] = []
    since_us: int | None = None
    for index, pull in enumerate(pulls):
        said = index < len(confirmed) and confirmed[index]
        one = _judge(pull, step, since_us, turned, said)
        judged.append(one)
        if one.counts:
            since_us = pull.peak_us
    return tuple(judged)


def counted(judged: Sequence[JudgedPull]) -> int:
    """Return how many pulls count."""
    return sum(one.counts for one in judged)


def _judge(
    pull: Pull, step: TorqueStep, since_us: int | None, turned: Turned, said: bool
) -> JudgedPull:
    how, seen_rev = None, None
    if since_us is not None and step.turn_rev:
        seen_rev = turned(since_us, pull.peak_us)
        if seen_rev is not None:
            far = seen_rev >= TURN_SHARE * step.turn_rev
            how = BY_SENSOR if far else NOT_TURNED
        else:
            how = BY_PERSON if said else NOT_TURNED
    because = ""
    if pull.peak_nm < step.low_nm:
        because = BELOW
    elif pull.peak_nm > step.high_nm:
        because = ABOVE
    elif how == NOT_TURNED:
        because = STOOD
    return JudgedPull(pull, not because, because, how, seen_rev)

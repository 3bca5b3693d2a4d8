"""What counts as a pull; the numbers follow from the torque that a step asks for."""

from dataclasses import dataclass

from rockhold.errors import OutOfRangeError

# Shares of the target. A wrench that is carried and put on shows some newton metres; a pull for a
# target goes far beyond. From the simulator, not from a workshop.
_START, _LEAST = 0.15, 0.35


@dataclass(frozen=True, slots=True)
class PullLimits:
    """When a pull begins and ends, and what is worth a word; torques above the resting indication.

    Attributes:
        start_nm: A pull begins when the torque rises above this.
        least_nm: What never reaches this is handling, not a pull.
        target_nm: What the step asks for; None when nothing is asked.
        over_nm: Above this it is too much, and said at once; None for no such limit.
        shortest_s: What lasts less is a knock.
        relaxed_s: The wrench is relaxed once the torque stayed below half of start_nm for so long.
    """

    start_nm: float = 4.0
    least_nm: float = 8.0
    target_nm: float | None = None
    over_nm: float | None = None
    shortest_s: float = 0.15
    relaxed_s: float = 0.03

    def __post_init__(self) -> None:
        if not 0 < self.start_nm <= self.least_nm:
            raise OutOfRangeError(
                f"a pull must begin above zero and not above {self.least_nm} N·m, begins at "
                f"{self.start_nm} N·m"
            )

    @classmethod
    def for_target(cls, target_nm: float, over_nm: float | None = None) -> "PullLimits":
        """Return the limits for pulls to a target.

        Args:
            target_nm: What the step asks for, in N·m, above zero.
            over_nm: Above this it is too much; None for no such limit.

        Raises:
            OutOfRangeError: When the target is not above zero, or the limit is below it.
        """
        if not target_nm > 0:
            raise OutOfRangeError(f"a target must be above zero, is {target_nm} N·m")
        if over_nm is not None and not over_nm >= target_nm:
            raise OutOfRangeError(
                f"too much must not begin below the target: {over_nm} N·m against {target_nm} N·m"
            )
        return cls(_START * target_nm, _LEAST * target_nm, target_nm, over_nm)

    @property
    def quiet_nm(self) -> float:
        """Range of the indication within which the wrench counts as resting."""
        return self.start_nm / 2

    @property
    def rest_nm(self) -> float:
        """The most that a resting adapter may show before it is first left alone."""
        return 2 * self.least_nm

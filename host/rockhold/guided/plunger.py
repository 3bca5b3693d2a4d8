"""The plunger's free stop: noted while it hangs free, before the base is set at the hub."""

from collections.abc import Iterable, Sequence

from rockhold.capture.measured import shown_when_free
from rockhold.capture.steps import FREE_STOP
from rockhold.capture.trace import step_mm
from rockhold.live.follow import indication
from rockhold.live.instruments import INDICATOR
from rockhold.measure.free_stop import FEWEST, NOTED_US, STILL_COUNTS
from rockhold.measure.trace import MM_PER_INCH
from rockwire import messages as m

NOT_STILL = (
    "the indication does not stand still: let the plunger hang free for a second, then press P"
)
NOTED = "noted where the plunger hangs free; now set the base and push the plunger in"


class Plunger:
    """Follows the indicator from the first reading of a sitting on.

    Args:
        least_mm: How far the plunger is to be pushed in, in mm.

    Attributes:
        noted_us: The board's time of the note, in µs; None before it.
        value: The last indication with its unit, "" before the first.
        noted: The indication that was noted, "" before it.
        moved: Whether the last readings brought another indication.
    """

    def __init__(self, least_mm: float) -> None:
        self._least_mm = least_mm
        self._messages: list[m.Readings] = []
        self._asked = self.moved = False
        self.noted_us: int | None = None
        self.value = self.noted = ""

    def take_up(self, messages: Iterable[tuple[object, ...] | None], noted_us: int) -> None:
        """Go on from an earlier sitting of the same capture, in which the note was made.

        Args:
            messages: What the board said in it.
            noted_us: The board's time of the note, in µs.
        """
        self.noted_us = noted_us
        for message in messages:
            if not isinstance(message, m.Readings) or message.t_us[-1] < noted_us - NOTED_US:
                continue
            if self.feed(message) and message.t_us[-1] <= noted_us:
                self.noted = self.value

    @property
    def earlier(self) -> Sequence[m.Readings]:
        """What the indicator showed since the note, and in the second before it."""
        return tuple(self._messages)

    def feed(self, message: tuple[object, ...]) -> bool:
        """Take a message; say whether it brought an indication."""
        if not isinstance(message, m.Readings) or message.source != INDICATOR:
            return False
        self._messages.append(message)
        if self.noted_us is None:  # nothing before the last second can matter
            oldest_us = message.t_us[-1] - NOTED_US
            self._messages = [one for one in self._messages if one.t_us[-1] >= oldest_us]
        before, self.value = self.value, indication(message.count[-1], message.scale)
        self.moved = self.value != before
        return True

    @property
    def still(self) -> bool:
        """Whether the indication has stood still for a second, as that of a free plunger does."""
        if not self._messages:
            return False
        newest_us = self._messages[-1].t_us[-1]
        shown = [
            count
            for message in self._messages
            for t_us, count in zip(message.t_us, message.count, strict=True)
            if t_us >= newest_us - NOTED_US
        ]
        return len(shown) >= FEWEST and max(shown) - min(shown) <= STILL_COUNTS

    def note(self) -> tuple[bool, str]:
        """Note that the plunger hangs free now; say whether it can be so, and what to tell."""
        if not self.still:
            return False, NOT_STILL
        self.noted_us = self._messages[-1].t_us[-1]
        self.noted = self.value
        self._asked = False
        return True, NOTED

    def pushed_in_mm(self) -> float | None:
        """Return how far the plunger is pushed in, in mm; None where nobody can say."""
        if self.noted_us is None:
            return None
        last = self._messages[-1]
        stop_mm = shown_when_free(self._messages, "this sitting", self.noted_us, last.t_us[-1])
        return None if stop_mm is None else abs(last.count[-1] * step_mm(last.scale) - stop_mm)

    def objects(self) -> str:
        """Return what speaks against going on, once; "" for nothing."""
        pushed_mm = self.pushed_in_mm()
        if pushed_mm is None or pushed_mm >= self._least_mm or self._asked:
            return ""
        self._asked = True
        return (
            f"the plunger is pushed in by {_lengths(pushed_mm)} only; make it "
            f"{_lengths(self._least_mm)} or more. The space bar again says yes all the same"
        )

    def values(self) -> dict[str, object]:
        """Return what belongs into the line of the step that sets the indicator up."""
        if self.noted_us is None:
            return {}
        pushed_mm = self.pushed_in_mm()
        return {
            FREE_STOP: self.noted_us,
            "preload_mm": None if pushed_mm is None else round(pushed_mm, 4),
        }


def _lengths(mm: float) -> str:
    return f"{mm / MM_PER_INCH:.4f} in ({mm:.3f} mm)"

"""Whether the plunger followed the hub: by its free stop where that was noted, else by readings."""

from rockhold.measure.choice import Choice
from rockhold.measure.contact import flat_between, one_side_changed, visited_between
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import Reserve
from rockhold.measure.free_stop import preload
from rockhold.measure.hidden import hides_motion
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import Finding
from rockhold.measure.still import still_side
from rockhold.measure.stop import stopped
from rockhold.measure.trace import Trace

AT_A_STOP = Reserve(
    " On one side the indication hardly moved while the wheel was rocked, as it does when the"
    " plunger no longer reaches the hub: give the plunger more preload, note where it hangs free"
    " before the base is set, and measure again.",
    forbids_accept=True,
)
NOT_NOTED = Reserve(
    " With so coarse a gauge the readings alone do not always show a plunger that stands at its"
    " free stop: note where it hangs free before the base is set."
)


def lost_contact(
    trace: Trace,
    axis: Coordinate,
    holds: list[Hold],
    choice: Choice,
    limits: EndPlayLimits,
    turning: Turning | None,
) -> tuple[list[Finding], Reserve]:
    """Return lost contact or too little preload, and what cannot be ruled out."""
    if not choice.holds:
        return [], Reserve()
    if trace.free_stop_mm is not None:
        told = preload(axis, choice, trace.free_stop_mm, limits)
        if told is not None:
            return told, Reserve()
    lost, nearly = stopped(axis, choice) if is_coarse(axis) else still_side(axis, holds)
    lost = lost or visited_between(axis, holds, turning) or one_side_changed(axis, holds, choice)
    lost = lost or flat_between(axis, holds, choice)
    if nearly or (is_coarse(axis) and hides_motion(axis, choice)):
        return lost, AT_A_STOP
    return lost, NOT_NOTED if is_coarse(axis) else Reserve()

"""What the header of a capture says of the tools, and which of them were overdue on that day.

A tool is overdue by its own record and the day on which the capture was opened, never by today: so
whoever computes the result again in ten years finds what the technician was told.
"""

from collections.abc import Mapping
from datetime import date

from rockhold.capture.reader import Capture

INDICATOR = "indicator"
TORQUE_TOOL = "torque tool"
TRANSDUCER = "transducer"
KINDS = (INDICATOR, TORQUE_TOOL, TRANSDUCER)
_LONGEST_NAME = 80
MOST_CYCLES = 5_000  # uses of a torque tool from calibration to calibration; ISO 6789, from memory


def tools_of(capture: Capture) -> tuple[Mapping[str, object], ...]:
    """Return the tools of a capture's header as they stand there."""
    tools = capture.header.get("tools")
    return (
        tuple(tool for tool in tools if isinstance(tool, dict)) if isinstance(tools, list) else ()
    )


def overdue_tools(capture: Capture) -> tuple[str, ...]:
    """Return the names of the tools that were overdue on the day the capture was opened."""
    day = _date(str(capture.header.get("opened_utc"))[:10])
    return tuple(called(tool) for tool in tools_of(capture) if is_overdue(tool, day))


def is_overdue(tool: Mapping[str, object], day: date | None) -> bool:
    """Return whether a tool's calibration had run out on a day: by its date, or by its uses.

    Args:
        tool: Its facts as in a header.
        day: The day in question; None where it is not known.
    """
    due = _date(tool.get("due_on"))
    if tool.get("overdue") is True or (day is not None and due is not None and day > due):
        return True
    cycles = tool.get("cycles")
    counts = tool.get("kind") != INDICATOR and isinstance(cycles, int)
    return counts and isinstance(cycles, int) and cycles > MOST_CYCLES


def called(tool: Mapping[str, object]) -> str:
    """Return what to call a tool in a sentence."""
    name = str(tool.get("id") or tool.get("name") or tool.get("kind") or "a tool")
    serial = tool.get("serial")
    words = f"{name} (serial {serial})" if serial else name
    # A header is anybody's text; a terminal shall not obey it.
    return "".join(ch if ch.isprintable() else "?" for ch in words[:_LONGEST_NAME])


def _date(value: object) -> date | None:
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        return None

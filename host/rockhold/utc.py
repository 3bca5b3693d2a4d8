"""The time of the computer, as captures, keys and seals carry it."""

import re
from datetime import UTC, datetime

UTC_FORM = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")


def now_utc() -> str:
    """Return the time as RFC 3339 text, UTC, to the second; such texts sort by time."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

"""Who reviews, and what a reviewer's deeds are called."""

from rockhold.errors import UsageError
from rockhold.evidence import findings as f
from rockhold.evidence.keys import REVIEWER, stored_keys
from rockhold.evidence.reviews import ACCEPT, ASK, REJECT

DEEDS = {ACCEPT: "Accepted", REJECT: "Rejected", ASK: "Asked"}


def mind_of(found: f.Verification, verdict: str) -> str:
    """Return what to say when somebody accepts what was not measured as acceptable; else ""."""
    measured = found.result.verdict if found.result is not None else ""
    if verdict != ACCEPT or measured == "accept":
        return ""
    return f'Mind: you accepted, but the measurement says "{measured or "no verdict"}".'


def only_reviewer() -> str:
    """Return the name of the one reviewer whose key is here.

    Raises:
        UsageError: When there is none, or several.
    """
    keys = stored_keys().keys
    names = {s.record.name for s in keys if s.own and s.record.role == REVIEWER}
    if len(names) != 1:
        raise UsageError(
            "say who you are with --reviewer"
            + ("" if names else '; a key is made with `rockhold keys make "NAME" --role reviewer`')
        )
    return names.pop()

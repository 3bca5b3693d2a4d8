"""Who reviews, and what a reviewer's deeds are called."""

from rockhold.errors import UsageError
from rockhold.evidence.keys import REVIEWER, stored_keys
from rockhold.evidence.reviews import ACCEPT, ASK, REJECT

DEEDS = {ACCEPT: "Accepted", REJECT: "Rejected", ASK: "Asked"}


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

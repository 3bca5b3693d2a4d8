"""Names as people write them, brought into one form so that they are found again."""

import re

_APART = re.compile(r"[\s,;/]+")


def key_of(name: str) -> str:
    """Return a name in the form that is compared: small letters, single spaces, no commas.

    >>> key_of("Axle 2,  LEFT")
    'axle 2 left'
    """
    return " ".join(word for word in _APART.split(name.casefold()) if word)


def pattern_of(wanted: str) -> str:
    """Return what a person looks for, `*` for anything, as a pattern of SQL's LIKE.

    >>> pattern_of("R-10*")
    'r-10%'
    """
    plain = key_of(wanted).replace("\\", r"\\").replace("%", r"\%").replace("_", r"\_")
    return plain.replace("*", "%")

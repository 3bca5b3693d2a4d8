"""Text of files and people as a terminal and a page may show it."""


def plain(text: str) -> str:
    """Return text that cannot steer a terminal: what is not printable is shown as its code."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)

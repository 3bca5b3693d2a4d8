"""Commands that a person is told, right to be copied and pasted into a shell."""

import shlex
from pathlib import Path


def typed(path: Path | str) -> str:
    """Return a file's name as it is typed: quoted where a shell would read it otherwise.

    >>> typed("my work/left.capture")
    "'my work/left.capture'"
    >>> typed("-left.capture")
    './-left.capture'
    """
    text = str(path)
    return shlex.quote(f"./{text}" if text.startswith("-") else text)

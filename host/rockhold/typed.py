"""Commands that a person is told, right to be copied and pasted into a shell."""

import os
import shlex
from pathlib import Path


def typed(path: Path | str) -> str:
    """Return a file's name as it is typed: quoted where a shell would read it otherwise.

    >>> typed("my work/left.capture")
    "'my work/left.capture'"
    >>> typed("-left.capture")
    './-left.capture'
    >>> print(typed("two\\nlines.capture"))
    $'two\\012lines.capture'
    """
    text = str(path)
    if not text.isprintable():
        return f"$'{''.join(map(_escaped, os.fsencode(text)))}'"
    return shlex.quote(f"./{text}" if text.startswith("-") else text)


def _escaped(byte: int) -> str:
    """Return a byte as it stands in a shell's $'…' (POSIX.1-2024, 2.2.4)."""
    return chr(byte) if 0x20 <= byte < 0x7F and byte not in b"'\\" else f"\\{byte:03o}"

"""Breaks long sentences where a person reads them on a terminal."""

import re
import shutil
import textwrap
from typing import TextIO

_WIDEST, _NARROWEST = 79, 30
_KEPT = "\xa0"


def for_a_screen(text: str, stream: TextIO) -> str:
    """Break a sentence between words on a terminal; programs get it in one line."""
    if not stream.isatty():
        return text
    width = shutil.get_terminal_size().columns - 1
    return filled(text, width)


def filled(text: str, width: int) -> str:
    """Break a sentence between words; a command in it stays in one piece, to be copied."""
    whole = re.sub("`[^`]*`", lambda command: command[0].replace(" ", _KEPT), text)
    lines = textwrap.fill(whole, width, break_long_words=False, break_on_hyphens=False)
    return lines.replace(_KEPT, " ")


def paragraph_columns() -> int:
    """Return how wide a paragraph may be: as the terminal, but never too wide to read."""
    return max(_NARROWEST, min(_WIDEST, shutil.get_terminal_size().columns - 1))

"""Breaks long sentences where a person reads them on a terminal."""

import shutil
import textwrap
from typing import TextIO

_WIDEST, _NARROWEST = 79, 30


def for_a_screen(text: str, stream: TextIO) -> str:
    """Break a sentence between words on a terminal; programs get it in one line."""
    if not stream.isatty():
        return text
    width = shutil.get_terminal_size().columns - 1
    return textwrap.fill(text, width, break_long_words=False, break_on_hyphens=False)


def paragraph_columns() -> int:
    """Return how wide a paragraph may be: as the terminal, but never too wide to read."""
    return max(_NARROWEST, min(_WIDEST, shutil.get_terminal_size().columns - 1))

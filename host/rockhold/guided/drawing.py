"""A guided job's screen as lines: plain ones, or those of a terminal with very large digits."""

import textwrap

from rockhold.guided.screen import Screen
from rockhold.live.bigdigits import enlarge

_CLEAR_TO_END = "\x1b[K"
_HIDE_CURSOR = "\x1b[?25l"
_BOLD, _PLAIN = "\x1b[1m", "\x1b[0m"
_GOOD, _BUSY, _BAD = "\x1b[30;42m", "\x1b[30;43m", "\x1b[30;41m"
_GROUND = {"good": _GOOD, "busy": _BUSY, "bad": _BAD}


def lines_of(screen: Screen, columns: int = 80) -> list[str]:
    """Return a screen as plain lines, words unbroken."""
    lines = _wrapped((screen.top, screen.title.upper(), *screen.body), columns)
    if screen.caution:
        lines += _wrapped((f"CAUTION: {screen.caution}",), columns)
    lines += _wrapped((screen.todo,), columns)
    return lines


def keys_lines(screen: Screen, columns: int) -> list[str]:
    """Return what the keys do as lines; a key and its meaning stay on one line."""
    together = "   ".join(
        one.replace(" ", "\xa0") if one.startswith("[") else one for one in screen.keys.split("   ")
    )
    return [line.replace("\xa0", " ") for line in textwrap.wrap(together, columns)]


def painted(screen: Screen, columns: int, rows: int, block: str, coloured: bool) -> list[str]:
    """Return a screen as the lines of a terminal, at most `rows` of them."""
    width = min(columns - 2, 100)
    ground = _GROUND[screen.mood] if coloured else ""
    large = [f"  {row}" for row in enlarge(screen.big, block)] if screen.big else []
    if large:
        large[-1] += f"  {screen.unit}"
        large.append("")
    title = f" {_BOLD}{screen.title.upper()}{_PLAIN}"
    todo = [f"  {_BOLD}{ground} {line} {_PLAIN}" for line in textwrap.wrap(screen.todo, width - 4)]
    keys = [f" {line}" for line in keys_lines(screen, width)]
    body = [f" {line}" for line in _wrapped(screen.body, width)]
    caution = [
        f" {_BOLD}{line}{_PLAIN}"
        for line in _wrapped((f"CAUTION: {screen.caution}",) if screen.caution else (), width)
    ]
    top = [f" {screen.top[: width - 1]}", "", title, ""]
    foot = ["", *todo, "", *keys]
    room = rows - 1 - len(top) - len(foot) - len(caution)
    middle = [*large, *body]
    if len(middle) > room:  # the words matter more than the large digits
        middle = body[: max(room, 0)]
    return [*top, *middle, *caution, *foot][: rows - 1]


def _wrapped(paragraphs: tuple[str, ...], columns: int) -> list[str]:
    return [line for text in paragraphs for line in textwrap.wrap(text, columns)]


def drawn(lines: list[str]) -> str:
    """Return what puts lines on a terminal in place of what stood there."""
    rows = "".join(f"{line}{_CLEAR_TO_END}\r\n" for line in lines)
    return f"{_HIDE_CURSOR}\x1b[H{rows}\x1b[J"

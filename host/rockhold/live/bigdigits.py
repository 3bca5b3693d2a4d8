"""Digits five rows high, to be read from the far side of a wheel."""

_ROWS = 5
# One row of each glyph a line; a dot is dark, any other character is lit.
_GLYPHS = {
    "0": ".##. #..# #..# #..# .##.",
    "1": "..#. .##. ..#. ..#. .###",
    "2": "###. ...# .##. #... ####",
    "3": "###. ...# .##. ...# ###.",
    "4": "#..# #..# #### ...# ...#",
    "5": "#### #... ###. ...# ###.",
    "6": ".##. #... ###. #..# .##.",
    "7": "#### ...# ..#. .#.. .#..",
    "8": ".##. #..# .##. #..# .##.",
    "9": ".##. #..# .### ...# .##.",
    "+": "... .#. ### .#. ...",
    "-": "... ... ### ... ...",
    ".": ". . . . #",
    " ": ".. .. .. .. ..",
}


def enlarge(text: str, lit: str = "█") -> list[str]:
    """Return text of digits, signs, points and spaces as five rows.

    Args:
        text: What to write; any other character is left out.
        lit: What a lit place is drawn with, twice as wide as high.
    """
    glyphs = [_GLYPHS[character].split() for character in text if character in _GLYPHS]
    rows = ["  ".join(glyph[row] for glyph in glyphs) for row in range(_ROWS)]
    return ["".join((" " if place in ". " else lit) * 2 for place in row).rstrip() for row in rows]

"""TOML with line numbers: which line of a file holds a key.

The standard reader gives values without their place. A statement ends with the first line that
makes the text up to there valid TOML with the key in it, and it begins behind the last line before
that made a valid text. That is slow, exact, and needed only for an error.
"""

import tomllib
from typing import Any

from rockhold.errors import ProcedureError

Path = tuple[str | int, ...]


def parse(text: str, where: str) -> dict[str, Any]:
    """Return what a TOML text holds.

    Raises:
        ProcedureError: With line and column, when it is not valid TOML.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProcedureError(f"{where}: not valid TOML: {error}") from error
    except RecursionError as error:
        raise ProcedureError(f"{where}: not valid TOML: nested too deeply") from error


def line_of(text: str, path: Path) -> int:
    """Return the line, from 1, where the statement that holds a value begins; 0 if there is none.

    Args:
        text: A valid TOML text.
        path: Names of tables and keys, and numbers of tables in an array of tables.
    """
    lines = text.split("\n")
    begins = 1
    for count in range(1, len(lines) + 1):
        try:
            document = tomllib.loads("\n".join(lines[:count]) + "\n")
        except tomllib.TOMLDecodeError:
            continue
        if _holds(document, path):
            return begins
        begins = count + 1
    return 0


def _holds(value: Any, path: Path) -> bool:
    for part in path:
        if isinstance(part, int):
            if not isinstance(value, list) or len(value) <= part:
                return False
        elif not isinstance(value, dict) or part not in value:
            return False
        value = value[part]
    return True

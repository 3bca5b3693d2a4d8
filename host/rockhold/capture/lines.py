"""Lines of a capture: values to bytes. The form is in protocol/README.md, part 3."""

import json
from collections.abc import Mapping

from rockhold.errors import CaptureFormatError

FORMAT_VERSION = 1
LONGEST_LINE = 1 << 20  # bytes
SUFFIX = ".capture"


def to_line(value: Mapping[str, object]) -> bytes:
    """Return a JSON object as a line; its first name says what the line is.

    Raises:
        ValueError: When a number is not finite.
    """
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode() + b"\n"


def from_line(line: bytes, number: int) -> dict[str, object]:
    """Return the JSON object of a line.

    Args:
        line: The bytes, without LF.
        number: The line's number, for the error.

    Raises:
        CaptureFormatError: When the line is not one JSON object with distinct names.
    """
    if len(line) > LONGEST_LINE:
        raise CaptureFormatError(f"line {number} is longer than {LONGEST_LINE} bytes", number)
    try:
        value = _DECODER.decode(line.decode())
    except UnicodeDecodeError as error:
        raise CaptureFormatError(
            f"line {number} is not UTF-8 text (byte {error.start} of the line)", number
        ) from error
    except RecursionError as error:
        raise CaptureFormatError(f"line {number} is nested too deeply", number) from error
    except ValueError as error:
        raise CaptureFormatError(f"line {number} is not JSON: {error}", number) from error
    if not isinstance(value, dict) or not value:
        raise CaptureFormatError(f"line {number} is not a JSON object with a name", number)
    return value


def _distinct(pairs: list[tuple[str, object]]) -> dict[str, object]:
    value = dict(pairs)
    if len(value) != len(pairs):
        raise ValueError("a name stands twice in one object")
    return value


def _not_json(word: str) -> object:
    raise ValueError(f"{word} is not a JSON number")


# Made once: making one for each line would take longer than most lines do.
_DECODER = json.JSONDecoder(object_pairs_hook=_distinct, parse_constant=_not_json)

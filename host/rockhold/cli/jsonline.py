"""How objects are printed for a program."""

import json


def json_line(value: object) -> str:
    """Return a value as one line of JSON (RFC 8259), UTF-8.

    A file's name need not be UTF-8; what of it is none is written as JSON's own escapes.
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8", "backslashreplace").decode()

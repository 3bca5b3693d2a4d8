"""The text of a file that an option names."""

from pathlib import Path

from rockhold.errors import UsageError


def option_text(option: str, path: Path) -> str:
    """Return the text of the file behind an option.

    Raises:
        UsageError: When it cannot be read, or is no text.
    """
    try:
        return path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise UsageError(f"{option} {path}: is no UTF-8 text; save it as such") from error
    except OSError as error:
        raise UsageError(f"{option} {path}: cannot read: {error.strerror}") from error

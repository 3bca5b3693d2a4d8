"""rockhold: wheel-bearing end play, captured, measured with its uncertainty, and signed.

In a notebook: `rockhold.open_capture(path)`; see rockhold.api.
"""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rockhold.api import OpenCapture

__version__ = "0.1.0"


def open_capture(path: str | Path) -> "OpenCapture":
    """Read a capture file, for its readings, its end play and its signatures.

    Raises:
        CaptureFormatError: When it cannot be read as a capture.
    """
    from rockhold.api import open_capture as opened  # only here: the command line starts quickly

    return opened(path)

"""What the charts of history and studies share; they are matplotlib's.

Colours are those of Okabe and Ito's palette, which stay apart for every common colour blindness.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from rockhold.errors import ReportError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

BLUE, ORANGE, GREEN = "#0072B2", "#D55E00", "#009E73"
GREY = "#3b3b3b"


def save_chart(figure: "Figure", path: Path) -> None:
    """Write a figure as PNG or SVG, by the ending of the path.

    Raises:
        ReportError: When the disk refuses.
    """
    try:
        figure.savefig(path, dpi=110)
    except OSError as error:
        raise ReportError(f"cannot write {path}: {error.strerror}") from error

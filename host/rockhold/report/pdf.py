"""Write a report as PDF, and pictures as PNG, with the Typst library.

The report goes in as data, never as markup, so that no name can be taken for an instruction. The
PDF follows PDF/UA-1 (ISO 14289-1): tagged, with its language and the pictures in words.
"""

import dataclasses
import json
from functools import cache
from importlib import resources, util
from pathlib import Path

import typst

from rockhold.errors import ReportError
from rockhold.report.content import Report

_PICTURE = "#set page(width: auto, height: auto, margin: 0pt)\n#image(bytes(sys.inputs.picture))"
_PPI = 110.0


def pdf_of(report: Report) -> bytes:
    """Return the report as a PDF file.

    Raises:
        ReportError: When the page setter refuses it.
    """
    folder = resources.files("rockhold.report").joinpath("templates")
    source = folder.joinpath("report.typ").read_text("utf-8")
    data = json.dumps(dataclasses.asdict(report), ensure_ascii=False)
    try:
        return typst.compile(
            source.encode(),
            sys_inputs={"report": data},
            format="pdf",
            font_paths=_fonts(),
            pdf_standards=["ua-1"],
        )
    except typst.TypstError as error:
        raise ReportError(f"the PDF cannot be set: {error}") from error


def png_of(svg: str) -> bytes:
    """Return one of our pictures as a PNG file.

    Raises:
        ReportError: When the page setter refuses it.
    """
    try:
        return typst.compile(
            _PICTURE.encode(),
            sys_inputs={"picture": svg},
            format="png",
            ppi=_PPI,
            font_paths=_fonts(),
        )
    except typst.TypstError as error:
        raise ReportError(f"the picture cannot be set: {error}") from error


@cache
def _fonts() -> typst.Fonts:
    """Return the fonts: DejaVu Sans, which matplotlib brings, and those of this computer."""
    found = util.find_spec("matplotlib")  # found, not imported: that would take half a second
    if found is None or found.origin is None:
        return typst.Fonts()
    return typst.Fonts(font_paths=[str(Path(found.origin).parent / "mpl-data" / "fonts" / "ttf")])

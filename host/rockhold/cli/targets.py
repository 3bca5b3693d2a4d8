"""Where a picture or report may be written: nothing that is there is overwritten unasked."""

from pathlib import Path

import click

from rockhold.errors import ReportError, UsageError

PICTURE_AS_WELL = click.option(
    "-o",
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Picture to write as well, .png or .svg.",
)
FORCE = click.option("--force", is_flag=True, help="Overwrite the picture if it is there.")


def must_be_free(target: Path, force: bool) -> None:
    """Refuse to overwrite what nobody said may be overwritten.

    Raises:
        UsageError: When there is such a file.
        ReportError: When its folder may not be entered.
    """
    try:
        there = target.exists()
    except OSError as error:
        raise ReportError(f"cannot write {target}: {error.strerror}") from error
    if there and not force:
        raise UsageError(f"{target} is already there; choose another name or add --force")


def must_take_picture(target: Path | None, force: bool) -> None:
    """Refuse what cannot become a picture, before anything is computed for it.

    Raises:
        UsageError: When the name does not say how to draw, or is taken.
        ReportError: When its folder may not be entered.
    """
    if target is None:
        return
    if target.suffix.lower() not in (".png", ".svg"):
        raise UsageError(f"--out {target}: the name must end in .png or .svg")
    must_be_free(target, force)

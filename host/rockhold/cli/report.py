"""`rockhold report`: one page about a capture, to read, print and pass on."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from rockhold.capture.folders import captures_in
from rockhold.cli import exits
from rockhold.cli.targets import must_be_free
from rockhold.errors import CaptureFormatError, ReportError, RockholdError, UsageError
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import Trust, trust_of
from rockhold.evidence.words import SHORT
from rockhold.plain import plain
from rockhold.report.units import METRIC, US, Units

if TYPE_CHECKING:
    from rockhold.report.gather import Gathered

_ENDINGS = (".html", ".pdf")


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    help="Report to write, .html or .pdf, or a folder for reports; else beside each file.",
)
@click.option("--pdf", is_flag=True, help="Write PDF where --out names no ending; else HTML.")
@click.option("--metric", is_flag=True, help="Millimetres and N·m; else US units.")
@click.option("--force", is_flag=True, help="Overwrite a report that is there.")
def command(files: tuple[Path, ...], out: Path | None, pdf: bool, metric: bool, force: bool) -> int:
    """Write a report of each of the captures FILES: one page that needs no network.

    A folder stands for the captures in it and below.

    The file is verified and measured again, and the page says first whether it can be relied on.
    A damaged or forged capture gets its report, too. Of several files a bad one stops nothing.

    Exit code: 0 when every report is written; 13 when a file cannot be opened.

    Example: rockhold report left.capture -o left.html
    """
    paths = captures_in(files)
    one = out is not None and out.suffix.lower() in _ENDINGS
    if one and len(paths) > 1:
        raise UsageError(
            f"--out {out} is one report, but there are {len(paths)} files; name a folder"
        )
    trust, units = trust_of(stored_keys()), METRIC if metric else US
    code = exits.OK
    for path in paths:
        target = _target(path, out, one, ".pdf" if pdf else ".html")
        try:
            must_be_free(target, force)
            job = gathered(path, trust)
            write_report(job, target, units)
        except RockholdError as error:
            if len(paths) == 1:
                raise
            click.echo(plain(f"rockhold: {error}"), err=True)
            code = exits.code_for(error)
        else:
            click.echo(plain(f"Report: {target} ({SHORT[job.found.state]})"))
    return code


def _target(path: Path, out: Path | None, one: bool, ending: str) -> Path:
    if out is None:
        return path.with_suffix(ending)
    return out if one else out / (path.stem + ending)


def gathered(path: Path, trust: Trust) -> "Gathered":
    """Return everything about a capture.

    Raises:
        CaptureFormatError: When there is no such file.
    """
    from rockhold.report.gather import gather

    try:
        path.stat()
    except OSError as error:
        raise CaptureFormatError(f"cannot read {path}: {error.strerror}") from error
    return gather(path, trust)


def write_report(job: "Gathered", target: Path, units: Units) -> None:
    """Write the report of a capture as HTML or PDF, by the ending of `target`.

    Raises:
        ReportError: When the report cannot be written.
    """
    from rockhold.report.build import build

    report = build(job, units)
    if target.suffix.lower() == ".pdf":
        from rockhold.report.pdf import pdf_of

        data = pdf_of(report)
    else:
        from rockhold.report.html import html_of

        data = html_of(report).encode()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    except OSError as error:
        raise ReportError(f"cannot write {target}: {error.strerror}") from error

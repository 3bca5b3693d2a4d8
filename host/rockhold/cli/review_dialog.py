"""The dialog of `rockhold review`: one screen a capture, then a decision."""

import sys
import tempfile
import webbrowser
from pathlib import Path

import click

from rockhold.capture.folders import files_in
from rockhold.cli import exits
from rockhold.cli.report import gathered, write_report
from rockhold.cli.reviewer import DEEDS, mind_of, only_reviewer
from rockhold.cli.secret import can_ask, signing_key
from rockhold.cli.widths import for_a_screen
from rockhold.errors import KeyStoreError, RockholdError, UsageError
from rockhold.evidence import findings as f
from rockhold.evidence.countersign import countersign, must_be_reviewable
from rockhold.evidence.keys import REVIEWER, Signer, stored_keys
from rockhold.evidence.reviews import ACCEPT, ASK, REJECT
from rockhold.evidence.trust import trust_of
from rockhold.evidence.verify import verify_file
from rockhold.evidence.waiting import BAD, NOT_SEALED, REVIEWED, WAITS, standing
from rockhold.evidence.words import one_line
from rockhold.plain import plain
from rockhold.report.gather import Gathered
from rockhold.report.questions import screen
from rockhold.report.units import METRIC, US

_OPEN, _LATER, _STOP = "open", "later", "stop"
_ASKED = {
    ACCEPT: "Why do you accept",
    REJECT: "Why do you reject",
    ASK: "What do you want to know",
}


class Dialog:
    """Shows captures and takes decisions; the reviewer's key is opened at the first one."""

    def __init__(self, reviewer: str | None, metric: bool) -> None:
        """Take who reviews, or None for the one reviewer whose key is here."""
        self._reviewer = reviewer
        self._units = METRIC if metric else US
        self._trust = trust_of(stored_keys())
        self._signer: Signer | None = None
        self._decided = 0

    def single(self, path: Path) -> int:
        """Show one capture and take a decision on it."""
        job = gathered(path, self._trust)
        self._show(job)
        if not can_ask():
            must_be_reviewable(job.found)
            raise UsageError(
                "there is nobody at a terminal to decide; say --accept, --reject or --ask with "
                "--because"
            )
        self._take(job)
        return exits.OK

    def walk(self, folder: Path) -> int:
        """Show what waits in a folder, one after the other; a bad file is named and passed."""
        waiting = self._waiting_in(folder)
        if not waiting:
            return exits.OK
        if not can_ask():
            for path in waiting:
                click.echo(plain(f"Waits: {path}"))
            raise UsageError(
                "there is nobody at a terminal to decide; review one with `rockhold review FILE "
                "--accept, --reject or --ask, and --because`"
            )
        self._reviewer = self._reviewer or only_reviewer()  # before anybody reads for nothing
        try:
            self._take_all(waiting)
        except click.Abort:
            click.echo(f"\n{self._how_far(waiting)} The same command goes on from here.")
            return exits.INTERRUPTED
        click.echo(f"\n{self._how_far(waiting)}")
        return exits.OK

    def _waiting_in(self, folder: Path) -> list[Path]:
        """Return what waits in a folder, and say what of it cannot be reviewed."""
        waiting: list[Path] = []
        others: dict[str, list[str]] = {REVIEWED: [], NOT_SEALED: [], BAD: []}
        paths = files_in([folder])
        with click.progressbar(
            paths, label="Looking", file=sys.stderr, hidden=not sys.stderr.isatty()
        ) as looked:
            for path in looked:
                found = verify_file(path, self._trust)
                now = standing(found)
                if now == WAITS:
                    waiting.append(path)
                else:
                    others[now].append(one_line(found))
        counts = ", ".join(f"{len(lines)} {state}" for state, lines in others.items())
        click.echo(f"{len(waiting)} of {len(paths)} captures wait; {counts}.")
        for line in others[BAD] + others[NOT_SEALED]:
            click.echo(for_a_screen(f"Not to be reviewed: {line}", sys.stdout))
        return waiting

    def _take_all(self, waiting: list[Path]) -> None:
        for at, path in enumerate(waiting, start=1):
            click.echo(f"\n{at} of {len(waiting)}")
            try:
                job = gathered(path, self._trust)
                self._show(job)
                if not self._take(job, _STOP):
                    return
            except (UsageError, KeyStoreError):
                raise  # no key, no passphrase: it would be so for all of them
            except RockholdError as error:
                click.echo(for_a_screen(f"rockhold: {error}", sys.stderr), err=True)

    def _how_far(self, waiting: list[Path]) -> str:
        return f"{self._decided} reviewed now, {len(waiting) - self._decided} still wait."

    def _show(self, job: Gathered) -> None:
        click.echo("\n".join(screen(job, self._units)))

    def _take(self, job: Gathered, *more: str) -> bool:
        """Ask until there is a decision, or none for now; False when nothing more is wanted."""
        answers = [*_answers(job), *more]
        if ACCEPT not in answers:
            click.echo("It cannot be accepted as it is.")
        while True:
            answer = _ask(answers)
            if answer in (_LATER, _STOP):
                return answer != _STOP
            if answer == _OPEN:
                self._open(job)
                continue
            signer = self._opened_key()
            because = click.prompt(_ASKED[answer], "", show_default=False, prompt_suffix="? ")
            if because.strip():
                self._seal(job, signer, answer, because.strip())
                return True
            click.echo("Nothing is sealed without your words.")

    def _open(self, job: Gathered) -> None:
        folder = Path(tempfile.mkdtemp(prefix="rockhold-"))
        target = folder / f"{job.path.stem}.html"
        write_report(job, target, self._units)
        click.echo(f"Report: {target}")
        if not webbrowser.open(target.as_uri()):
            click.echo("No browser came up; open the report by hand.")

    def _opened_key(self) -> Signer:
        if self._signer is None:
            self._signer = signing_key(self._reviewer or only_reviewer(), REVIEWER)
        return self._signer

    def _seal(self, job: Gathered, signer: Signer, verdict: str, because: str) -> None:
        found = countersign(job.path, signer, verdict, because, self._trust, job.sha256)
        self._decided += 1
        mind = mind_of(found, verdict)
        if mind:
            click.echo(mind)
        click.echo(f'{DEEDS[verdict]} and sealed by "{signer.name}": {job.path}')


def _answers(job: Gathered) -> list[str]:
    """Return what may be answered, as countersign() would allow it."""
    if standing(job.found) in (BAD, NOT_SEALED):
        return [_OPEN, _LATER]
    if job.found.state == f.NOT_REPRODUCED:
        return [_OPEN, REJECT, ASK, _LATER]
    return [_OPEN, ACCEPT, REJECT, ASK, _LATER]


def _ask(answers: list[str]) -> str:
    """Return one of the answers; its first letters are enough where they name one."""
    while True:
        text = click.prompt(f"\n{', '.join(answers)}", prompt_suffix="? ").strip().lower()
        fits = [answer for answer in answers if answer.startswith(text)]
        if len(fits) == 1:
            return fits[0]
        click.echo(
            f'"{text}" may be {" or ".join(fits)}.'
            if fits
            else "One of these words, or how it begins:"
        )

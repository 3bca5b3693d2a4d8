"""Many files on the command line: progress and time left, Ctrl-C, and a list of what is done."""

import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Generic, TypeVar

import click

from rockhold.bulk.donelist import DoneList
from rockhold.bulk.pool import Lost, Work, run_all

R = TypeVar("R")

DONE_LIST = click.option(
    "--done-list",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Note each file that is done in this list, and pass over those that stand there: so a "
    "stopped run goes on where it was.",
)


class BulkRun(Generic[R]):
    """One walk through many files.

    Attributes:
        label: What is done, for the progress bar.
        files: All of them.
        done_list: Those done before, None without a list.
        count: How many were done now.
        passed_over: How many were done before.
        stopped: Whether Ctrl-C ended it.
        goes_on: Whether the same command would go on from there.
    """

    def __init__(
        self, label: str, files: Sequence[Path], done_list: DoneList | None = None
    ) -> None:
        self.label = label
        self.files = files
        self.done_list = done_list
        self.count = 0
        self.passed_over = 0
        self.stopped = False
        self.goes_on = done_list is not None

    def results(
        self,
        work: Work[Path, R],
        lost: Lost[Path, R],
        pick: Callable[[Sequence[Path]], Iterator[Path]] | None = None,
    ) -> Iterator[R]:
        """Yield the result of each file in order, until the end or Ctrl-C.

        With the first Ctrl-C nothing new is yielded, so that what was written so far is whole; a
        second one ends at once.

        Args:
            work: Done on each file, in other processes if there are many.
            lost: Gives the result for a file whose work failed.
            pick: Gives the files that need work; None: those not on the list of done files.
        """
        self.goes_on = self.goes_on or pick is not None
        wanted = partial(self._counted, (pick or self._not_done)(self.files))
        shown = sys.stderr.isatty() and len(self.files) > 1
        with (
            _CtrlC(self) as ctrl_c,
            click.progressbar(
                length=len(self.files), label=self.label, file=sys.stderr, hidden=not shown
            ) as bar,
        ):
            results = run_all(wanted(), work, lost)
            try:
                for result in results:
                    if ctrl_c.stop:
                        break
                    self.count += 1
                    yield result
                    bar.update(self.count + self.passed_over - bar.pos)
            finally:
                results.close()  # type: ignore[attr-defined]
        if self.stopped:
            click.echo(self.words_of_stop(), err=True)

    def done(self, path: Path, code: int) -> None:
        """Note that the result of a file is out."""
        if self.done_list is not None:
            self.done_list.add(path, code)

    def codes_before(self) -> set[int]:
        """Return the exit codes of the files that were done before."""
        return set() if self.done_list is None else self.done_list.codes

    def words_of_before(self) -> str:
        """Return a sentence on the files that were done before, "" without any."""
        return f" {self.passed_over} more were done before." if self.passed_over else ""

    def words_of_stop(self) -> str:
        """Return what a person who pressed Ctrl-C wants to know."""
        left = len(self.files) - self.count - self.passed_over
        how = " The same command goes on from here." if self.goes_on else ""
        before = f", {self.passed_over} before" if self.passed_over else ""
        return f"Stopped: {self.count} files done{before}, about {left} left.{how}"

    def _not_done(self, files: Sequence[Path]) -> Iterator[Path]:
        done = self.done_list
        return (path for path in files if done is None or not done.has(path))

    def _counted(self, picked: Iterator[Path]) -> Iterator[Path]:
        """Pass the picked files on, and count those between them that were not picked."""
        at = 0
        for path in picked:
            while self.files[at] is not path:
                at += 1
                self.passed_over += 1
            at += 1
            yield path
        self.passed_over += len(self.files) - at


class _CtrlC:
    """While it lasts, the first Ctrl-C only asks to stop."""

    def __init__(self, run: BulkRun[R]) -> None:
        self._run = run
        self._mine = threading.current_thread() is threading.main_thread()

    @property
    def stop(self) -> bool:
        return self._run.stopped

    def __enter__(self) -> "_CtrlC":
        if self._mine:
            self._before = signal.signal(signal.SIGINT, self._asked)
        return self

    def __exit__(self, *_: object) -> None:
        if self._mine:
            signal.signal(signal.SIGINT, self._before)

    def _asked(self, _number: int, _frame: FrameType | None) -> None:
        if self._run.stopped:
            raise KeyboardInterrupt
        self._run.stopped = True

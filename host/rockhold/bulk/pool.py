"""Work on many items on all processors, in order, with memory for a few of them only.

A worker can be killed: by the system when memory runs out, or by an item that no check foresaw.
Then the items that were in work are done again one by one by a single worker, and the one that
kills it twice is given up with a sentence. The others lose nothing.
"""

import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import chain, islice
from typing import Generic, TypeVar

T = TypeVar("T")
R = TypeVar("R")
Work = Callable[[T], R]
Lost = Callable[[T, str], R]

PARALLEL_FROM = 40  # fewer items are done before other processes have started
_MOST_WORKERS = 8
_CHUNK = 16
_AHEAD = 4  # chunks in work or waiting, for each worker
_KILLED = "the process that worked on it was ended twice; look at it alone"


def run_all(items: Iterable[T], work: Work[T, R], lost: Lost[T, R]) -> Iterator[R]:
    """Yield what the work gives for each item, in order.

    Args:
        items: Taken as they are needed.
        work: Done in other processes when there are many items; must be a function of a module.
        lost: Gives the result for an item whose work failed, from the item and the reason.
    """
    coming = iter(items)
    few = list(islice(coming, PARALLEL_FROM))
    workers = min(os.cpu_count() or 1, _MOST_WORKERS)
    if len(few) < PARALLEL_FROM or workers < 2:
        for item in chain(few, coming):
            yield _one(item, work, lost)
        return
    crew = _Crew(work, lost, workers)
    try:
        yield from crew.run(chain(few, coming))
    finally:
        crew.dismiss()


def _one(item: T, work: Work[T, R], lost: Lost[T, R]) -> R:
    try:
        return work(item)
    except Exception as error:  # noqa: BLE001 - a fault met at one file must not stop the others
        return lost(item, f"{type(error).__name__}: {error}")


def _some(items: list[T], work: Work[T, R], lost: Lost[T, R]) -> list[R]:
    return [_one(item, work, lost) for item in items]


def _deaf_to_ctrl_c() -> None:
    # A terminal tells Ctrl-C to all processes; what to do about it is the first one's decision.
    signal.signal(signal.SIGINT, signal.SIG_IGN)


class _Crew(Generic[T, R]):
    """The workers, and the chunks that they have in hand."""

    def __init__(self, work: Work[T, R], lost: Lost[T, R], workers: int) -> None:
        self._work = work
        self._lost = lost
        self._workers = workers
        self._pool = self._hire(workers)
        self._in_hand: deque[tuple[list[T], Future[list[R]]]] = deque()

    def run(self, items: Iterator[T]) -> Iterator[R]:
        chunks = iter(lambda: list(islice(items, _CHUNK)), [])
        for items_of_chunk in islice(chunks, self._workers * _AHEAD):
            self._hand_out(items_of_chunk)
        while self._in_hand:
            try:
                done = self._in_hand[0][1].result()
            except BrokenProcessPool:
                yield from self._one_by_one()
            else:
                self._in_hand.popleft()
                yield from done
            for items_of_chunk in islice(chunks, self._workers * _AHEAD - len(self._in_hand)):
                self._hand_out(items_of_chunk)

    def dismiss(self) -> None:
        self._pool.shutdown(cancel_futures=True)

    def _hire(self, workers: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(workers, initializer=_deaf_to_ctrl_c)

    def _hand_out(self, items: list[T]) -> None:
        try:
            future = self._pool.submit(_some, items, self._work, self._lost)
        except BrokenProcessPool as error:  # it broke just now; the result says so, in its turn
            future = Future()
            future.set_exception(error)
        self._in_hand.append((items, future))

    def _one_by_one(self) -> Iterator[R]:
        """Do what was in hand when a worker died, each item alone, then begin with a new crew."""
        self.dismiss()
        left = [item for items, _ in self._in_hand for item in items]
        self._in_hand.clear()
        self._pool = self._hire(1)
        for item in left:
            yield self._alone(item)
        self.dismiss()
        self._pool = self._hire(self._workers)

    def _alone(self, item: T) -> R:
        for _ in range(2):
            try:
                return self._pool.submit(_one, item, self._work, self._lost).result()
            except BrokenProcessPool:
                self.dismiss()
                self._pool = self._hire(1)
        return self._lost(item, _KILLED)

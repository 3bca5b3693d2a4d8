"""Many captures at once: on all processors, in order, with memory for a few of them only."""

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import islice
from pathlib import Path

from rockhold.capture.lines import SUFFIX
from rockhold.evidence.findings import Verification
from rockhold.evidence.trust import Trust
from rockhold.evidence.verify import verify_file

PARALLEL_FROM = 40  # fewer files are done before other processes have started
_CHUNK = 16
_AHEAD = 4  # chunks in work or waiting, for each processor


def files_in(places: Sequence[Path]) -> list[Path]:
    """Return the files named, and for each folder the captures in it and below."""
    files: list[Path] = []
    for place in places:
        files += sorted(place.rglob(f"*{SUFFIX}")) if place.is_dir() else [place]
    return files


def verify_all(files: Sequence[Path], trust: Trust) -> Iterator[Verification]:
    """Yield what was found about each file, in the order of the files."""
    workers = min(os.cpu_count() or 1, 8)
    if len(files) < PARALLEL_FROM or workers < 2:
        for path in files:
            yield verify_file(path, trust)
        return
    chunks = iter([files[at : at + _CHUNK] for at in range(0, len(files), _CHUNK)])
    with ProcessPoolExecutor(workers) as pool:
        waiting: list[Future[list[Verification]]] = [
            pool.submit(_verify_chunk, chunk, trust) for chunk in islice(chunks, workers * _AHEAD)
        ]
        while waiting:
            yield from waiting.pop(0).result()
            waiting += [pool.submit(_verify_chunk, chunk, trust) for chunk in islice(chunks, 1)]


def _verify_chunk(files: Sequence[Path], trust: Trust) -> list[Verification]:
    return [verify_file(path, trust) for path in files]

"""Many items at once, whatever becomes of one of them."""

import multiprocessing
import os
import signal
from functools import partial

import pytest

from rockhold.bulk import pool
from rockhold.bulk.pool import PARALLEL_FROM, run_all


def double(item):
    return 2 * item


def fails_at(item, bad):
    if item == bad:
        raise ZeroDivisionError("seven")
    return item


def killed_at(item, bad, folder=None):
    """End the process as the system does when memory runs out; with a folder only once."""
    if item == bad:
        if folder is None:
            os.kill(os.getpid(), signal.SIGKILL)
        mark = folder / "killed"
        if not mark.exists():
            mark.touch()
            os.kill(os.getpid(), signal.SIGKILL)
    return item


def lost(item, why):
    return f"{item}: {why}"


@pytest.fixture(params=[1, 2])
def processors(request, monkeypatch):
    monkeypatch.setattr(pool.os, "cpu_count", lambda: request.param)
    return request.param


@pytest.mark.parametrize("number", [0, 1, PARALLEL_FROM, PARALLEL_FROM + 25, 500])
def test_results_come_in_order(processors, number):
    assert list(run_all(range(number), double, lost)) == [2 * item for item in range(number)]
    assert not multiprocessing.active_children()


def test_a_fault_at_one_item_takes_no_other_away(processors):
    found = list(run_all(range(100), partial(fails_at, bad=77), lost))
    assert found[77] == "77: ZeroDivisionError: seven"
    assert found[:77] + found[78:] == [*range(77), *range(78, 100)]


@pytest.mark.parametrize("bad", [0, 16, 290])
def test_an_item_that_kills_its_worker_is_given_up_and_no_other(bad, monkeypatch):
    monkeypatch.setattr(pool.os, "cpu_count", lambda: 2)
    found = list(run_all(range(300), partial(killed_at, bad=bad), lost))
    assert "ended twice" in found[bad]
    assert found[:bad] + found[bad + 1 :] == [*range(bad), *range(bad + 1, 300)]
    assert not multiprocessing.active_children()


def test_a_worker_that_is_killed_once_costs_nothing(tmp_path, monkeypatch):
    monkeypatch.setattr(pool.os, "cpu_count", lambda: 2)
    work = partial(killed_at, bad=50, folder=tmp_path)
    assert list(run_all(range(300), work, lost)) == list(range(300))
    assert (tmp_path / "killed").exists()


def test_items_are_taken_as_they_are_needed_and_nobody_stays_behind(monkeypatch):
    monkeypatch.setattr(pool.os, "cpu_count", lambda: 2)
    taken = []

    def items():
        for item in range(10_000):
            taken.append(item)
            yield item

    results = run_all(items(), double, lost)
    assert [next(results) for _ in range(100)] == [2 * item for item in range(100)]
    assert len(taken) < 400
    results.close()
    assert not multiprocessing.active_children()

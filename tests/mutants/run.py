"""Change the program in one small place at a time and see whether the tests notice.

    python tests/mutants/run.py [GROUP …] [--most N] [--seed N] [--only WORD]

Each mutant lives in a child process: it imports the changed source instead of the one on disk and
runs its tests until the first that fails. Nothing in the folder is touched. A mutant that hangs is
noticed by its time. Prints the survivors that explained.toml does not explain and, for each group,
noticed of tried.
"""

import argparse
import ast
import importlib.abc
import importlib.util
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

import pytest
from changes import Place, changed_tree, places
from explained import explained, key_of
from groups import GROUPS, Target

ROOT = Path(__file__).parents[2]
KILLED, SURVIVED, HUNG, EXPLAINED = "killed", "survived", "hung", "explained"
OPTIONS = [
    "-x",
    "-q",
    "-n",
    "0",
    "--assert=plain",
    "-p",
    "no:cacheprovider",
    "--hypothesis-profile=mutants",
]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change in one source, with the tests that should notice it."""

    target: Target
    place: Place


class Loader(importlib.abc.Loader):
    """Gives a changed program instead of the source on disk."""

    def __init__(self, tree: ast.Module, path: Path) -> None:
        self._code = compile(tree, str(path), "exec")

    def exec_module(self, module: ModuleType) -> None:
        exec(self._code, module.__dict__)


class Finder(importlib.abc.MetaPathFinder):
    """Finds one module changed, and leaves all others to the usual way."""

    def __init__(self, name: str, loader: Loader, path: Path) -> None:
        self._name, self._loader, self._path = name, loader, path

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(fullname, self._path, loader=self._loader)


def mutants_of(targets: Sequence[Target]) -> list[Mutant]:
    """Return every mutant of some sources."""
    return [
        Mutant(target, place)
        for target in targets
        for place in places((ROOT / target.source).read_text(encoding="utf-8"))
    ]


def run_tests(target: Target, tree: ast.Module | None, limit_s: float) -> str:
    """Run a target's tests on a changed program (or the program as it is) in a child."""
    child = os.fork()
    if not child:
        _be_the_child(target, tree)
    end_s = time.monotonic() + limit_s
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return SURVIVED if status == 0 else KILLED
        if time.monotonic() > end_s:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return HUNG
        time.sleep(0.01)


def _be_the_child(target: Target, tree: ast.Module | None) -> None:
    try:
        os.setsid()
        silence = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(silence, stream)
        if tree is not None:
            path = ROOT / target.source
            sys.meta_path.insert(0, Finder(target.module, Loader(tree, path), path))
        os._exit(int(pytest.main([*OPTIONS, *target.tests])))
    finally:
        os._exit(99)


def judge(mutants: Sequence[Mutant], limit_s: float) -> Iterator[tuple[Mutant, str]]:
    """Yield each mutant with what became of it."""
    for mutant in mutants:
        text = (ROOT / mutant.target.source).read_text(encoding="utf-8")
        tree = changed_tree(text, mutant.place)
        yield mutant, run_tests(mutant.target, tree, limit_s)


def time_limit(targets: Sequence[Target]) -> float:
    """Run all tests of a group on the program as it is; a mutant gets twice as long."""
    tests = dict.fromkeys(test for target in targets for test in target.tests)
    start_s = time.monotonic()
    if run_tests(Target("", "", tuple(tests)), None, 1200) != SURVIVED:
        raise SystemExit(f"these tests fail on the program as it is: {' '.join(tests)}")
    return 10 + 2 * (time.monotonic() - start_s)


def report(group: str, mutants: Sequence[Mutant], of: int, limit_s: float) -> None:
    """Try mutants, print the survivors as they are found, and the figures."""
    seen: dict[str, list[str]] = {}
    reasons = explained()
    for tried, (mutant, outcome) in enumerate(judge(mutants, limit_s), start=1):
        source, place = mutant.target.source, mutant.place
        if outcome == SURVIVED and key_of(source, place) in reasons:
            outcome = EXPLAINED
        seen.setdefault(source, []).append(outcome)
        if outcome == SURVIVED:
            print(f"{source}:{place.line}: {place.function}: {place.told}", flush=True)
        if tried % 25 == 0:
            print(f"{group}: {tried} of {len(mutants)}", file=sys.stderr, flush=True)
    for source, outcomes in seen.items():
        print(f"    {_told(outcomes)}  {source}")
    all_of_them = [outcome for outcomes in seen.values() for outcome in outcomes]
    tried = len(all_of_them)
    share = 100 * _noticed(all_of_them) / max(1, tried)
    print(
        f"{group}: {_told(all_of_them)} ({share:.1f} %, {all_of_them.count(HUNG)} of them by their "
        f"time); tried {tried} of {of}",
        flush=True,
    )


def _noticed(outcomes: Sequence[str]) -> int:
    return outcomes.count(KILLED) + outcomes.count(HUNG)


def _told(outcomes: Sequence[str]) -> str:
    text = f"{_noticed(outcomes):4} of {len(outcomes):4} noticed"
    return text + f", {outcomes.count(EXPLAINED):3} explained, {outcomes.count(SURVIVED):3} not"


def _warm() -> None:
    """Load the libraries once, so that no child needs to; nothing of ours may be loaded."""
    import hypothesis
    import joserfc.jws  # noqa: F401
    import scipy.stats  # noqa: F401

    quick = [hypothesis.Phase.explicit, hypothesis.Phase.generate]  # no search for a smaller case
    hypothesis.settings.register_profile(
        "mutants", phases=quick, derandomize=True, database=None, deadline=None
    )
    ours = {"rockhold", "rockwire", "rockboard"} & set(sys.modules)
    assert not ours, f"loaded too early: {ours}"


def main() -> None:
    """Run the groups that were asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("group", nargs="*", default=[*GROUPS], help=", ".join(GROUPS))
    parser.add_argument("--most", type=int, default=400, help="mutants a group, drawn by the seed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="only sources whose path has this word")
    asked = parser.parse_args()
    os.chdir(ROOT)
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = tempfile.mkdtemp()
    _warm()
    for group in asked.group:
        targets = [target for target in GROUPS[group] if asked.only in target.source]
        mutants = mutants_of(targets)
        drawn = mutants
        if len(mutants) > asked.most:
            drawn = random.Random(asked.seed).sample(mutants, asked.most)
        report(group, drawn, len(mutants), time_limit(targets))


if __name__ == "__main__":
    main()

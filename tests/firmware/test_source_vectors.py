"""Every source against its vectors, on both interpreters."""

import re
from pathlib import Path

import pytest

from rockboard.sources.table import TABLE
from rockhold.upkeep.hints import HINTS
from support import VECTORS, cpython, micropython, needs_micropython

RUNNER = Path(__file__).with_name("run_source_vectors.py")
# clocked24 has recordings for vectors, and test_clocked24.py for them.
KINDS = tuple(row.name for row in TABLE if row.name != "clocked24")


def expectations(kind):
    lines = []
    for path in sorted((VECTORS / kind).glob("*.txt")):
        rows = path.read_text(encoding="utf-8").splitlines()
        lines += [f"{path.name} {row[8:]}" for row in rows if row.startswith("expect: ")]
    assert lines, f"protocol/vectors/{kind} has none: see make_source_vectors.py"
    return lines


@pytest.mark.parametrize("kind", KINDS)
def test_on_cpython(kind):
    assert cpython(RUNNER, kind, str(VECTORS / kind)).splitlines() == expectations(kind)


@needs_micropython
@pytest.mark.parametrize("kind", KINDS)
def test_on_micropython(kind):
    assert micropython(RUNNER, kind, str(VECTORS / kind)).splitlines() == expectations(kind)


def test_every_kind_has_its_hints_and_takes_part_in_the_soak():
    assert set(HINTS) == {row.name for row in TABLE}
    soak = RUNNER.with_name("run_soak.py").read_text(encoding="utf-8")
    assert set(re.findall(r"sources\.(\w+)", soak)) == {row.name for row in TABLE}

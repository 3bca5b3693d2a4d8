"""Every source against its vectors, on both interpreters."""

from pathlib import Path

import pytest

from support import VECTORS, cpython, micropython, needs_micropython

RUNNER = Path(__file__).with_name("run_source_vectors.py")
KINDS = ("bcd52", "ascii_line", "bridge24", "motion")


def expectations(kind):
    lines = []
    for path in sorted((VECTORS / kind).glob("*.txt")):
        rows = path.read_text(encoding="utf-8").splitlines()
        lines += [f"{path.name} {row[8:]}" for row in rows if row.startswith("expect: ")]
    assert lines
    return lines


@pytest.mark.parametrize("kind", KINDS)
def test_on_cpython(kind):
    assert cpython(RUNNER, kind, str(VECTORS / kind)).splitlines() == expectations(kind)


@needs_micropython
@pytest.mark.parametrize("kind", KINDS)
def test_on_micropython(kind):
    assert micropython(RUNNER, kind, str(VECTORS / kind)).splitlines() == expectations(kind)

import pytest

from interpreters import run_on_both
from rockboard.counter import SPENT, KeptCounter
from support import FIRMWARE, needs_micropython

PROGRAM = """
import sys
sys.path.insert(0, "%s")
from rockboard.counter import KeptCounter
for line in sys.stdin:
    kept = KeptCounter(line.strip())
    before = kept.load()
    kept.keep((1 << 60) + 7)
    print(before, KeptCounter(line.strip()).load())
"""


def test_a_counter_is_kept_and_replaced(tmp_path):
    kept = KeptCounter(str(tmp_path / "counter"))
    assert kept.load() == 0
    for counter in (1, (1 << 64) - 1, 5):
        kept.keep(counter)
        assert KeptCounter(str(tmp_path / "counter")).load() == counter


def test_a_damaged_file_lets_no_recorded_command_pass(tmp_path):
    (tmp_path / "counter").write_bytes(b"short")
    assert KeptCounter(str(tmp_path / "counter")).load() == SPENT


def test_a_flash_that_refuses_says_so(tmp_path):
    with pytest.raises(OSError):
        KeptCounter(str(tmp_path / "none" / "counter")).keep(1)


@needs_micropython
def test_both_interpreters(tmp_path):
    for path, printed in zip(
        (tmp_path / "a", tmp_path / "b"),
        run_on_both(PROGRAM % FIRMWARE, [str(tmp_path / "a")]),
        strict=True,
    ):
        assert printed[0].endswith(str((1 << 60) + 7)), path

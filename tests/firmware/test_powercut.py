"""The power cut at some of the flash's operations; `make powercut` tries them all."""

from pathlib import Path

from support import micropython, needs_micropython

RUNNER = Path(__file__).with_name("run_powercut.py")


@needs_micropython
def test_every_earlier_batch_outlives_a_power_cut():
    said = micropython(RUNNER, "13", "3", heap="24m")
    assert "captures spoilt 0" in said, said
    tried = int(said.split("cut points tried ")[1].split()[0])
    longest_ms = int(said.split("longest ")[1])
    assert tried >= 10
    assert 0 < longest_ms <= 500

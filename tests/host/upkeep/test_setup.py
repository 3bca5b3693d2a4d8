"""What setup makes of a board's own words, and what starts the program at each power-up."""

import subprocess

import pytest

from rockhold.errors import NoBoardError
from rockhold.upkeep.machines import CHIPS, board_named
from rockhold.upkeep.setup import OLDEST, Mpremote, identify, starter
from support import micropython, needs_micropython


def answering(text):
    return lambda *arguments: f"MPY: soft reboot\n{text}\n"


# What the images say of themselves, as MicroPython's `sys.implementation` puts it.
@pytest.mark.parametrize(
    ("says", "board"),
    [
        ("1 28 Raspberry Pi Pico W with RP2040", "pico_w"),
        ("1 24 Raspberry Pi Pico with RP2040", "pico_w"),
        ("1 25 Raspberry Pi Pico 2 W with RP2350", "pico2_w"),
        ("1 28 Raspberry Pi Pico2 with RP2350", "pico2_w"),
        ("2 0 Generic ESP32S3 module with ESP32S3", "esp32s3"),
    ],
)
def test_a_board_is_known_by_what_it_says(says, board):
    machine = identify(answering(f"rockhold-asks {says}"))
    assert board_named(machine.name) == board


def test_one_that_is_too_old_strange_or_silent_is_told_with_what_to_do():
    with pytest.raises(NoBoardError, match=r"runs MicroPython 1\.23.* 1\.24 or newer"):
        identify(answering("rockhold-asks 1 23 Raspberry Pi Pico with RP2040"))
    with pytest.raises(NoBoardError, match="is it MicroPython at all"):
        identify(answering("what?"))
    machine = identify(answering("rockhold-asks 1 28 PYBv1.1 with STM32F405RG"))
    with pytest.raises(NoBoardError, match="--board: " + ", ".join(CHIPS)):
        board_named(machine.name)


def test_a_failed_mpremote_is_told_in_words_that_say_what_to_do(monkeypatch):
    # The first is what mpremote says of a terminal without MicroPython; the second is made up.
    def failing(*arguments, **options):
        return subprocess.CompletedProcess(arguments, 1, "", f"Traceback\n{last}\n")

    monkeypatch.setattr(subprocess, "run", failing)
    last = "mpremote.transport.TransportError: could not enter raw repl"
    with pytest.raises(NoBoardError, match=r"no MicroPython answers on P\. .*button") as told:
        Mpremote("P")("exec", "1")
    assert "TransportError" not in str(told.value)
    last = "mpremote: cp: write failed"
    with pytest.raises(NoBoardError, match=r"on P: mpremote: cp: write failed\. Unplug"):
        Mpremote("P")("exec", "1")


@needs_micropython
def test_the_starter_refuses_an_old_micropython_before_it_loads_anything(tmp_path):
    # littlefs and interrupts together hung some older images, so the board itself looks, too.
    script = tmp_path / "main.py"
    (tmp_path / "rockboard").mkdir()
    (tmp_path / "rockboard" / "boards").mkdir()
    (tmp_path / "rockboard" / "boards" / "pico_w.py").write_text("main = lambda: print('runs')\n")
    said = []
    for oldest in (OLDEST, (9, 0)):
        script.write_text(starter("pico_w", oldest))
        said.append(micropython(script).strip())
    assert said == ["runs", "rockhold: this MicroPython is older than 9.0; put a newer one on it"]

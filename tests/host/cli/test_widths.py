"""Sentences on a narrow terminal: broken between words, never inside a command."""

from rockhold.cli.widths import filled


def test_a_command_stays_in_one_piece_to_be_copied():
    text = "Stopped. `rockhold record 'my work/left.capture' --resume --port /dev/ttyACM0` goes on."
    lines = filled(text, 30).splitlines()
    assert "`rockhold record 'my work/left.capture' --resume --port /dev/ttyACM0`" in lines
    assert " ".join(lines) == text
    assert max(len(line) for line in filled("a few words " * 20, 30).splitlines()) <= 30

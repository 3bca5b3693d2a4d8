"""The reference of all commands says what the commands say."""

from host.cli.make_commands import PAGE, page


def test_the_reference_is_what_help_says():
    assert PAGE.read_text("utf-8") == page(), "run `make commands`"

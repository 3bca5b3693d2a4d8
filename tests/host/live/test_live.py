import io
import os
import pty

import pytest

from rockhold.live.bigdigits import enlarge
from rockhold.live.live import Live
from rockhold.procedure.endplay import shipped_limits
from rockwire import messages as m
from rockwire.units import HALF_THOU


def batches(counts, spacing_us=72_000):
    for number, count in enumerate(counts):
        yield m.Readings(0, HALF_THOU, (number * spacing_us,), (count,))


ROCK = [0, 2, 4, 6, 8, 6, 4, 2] * 3
ROCK_AND_HOLD = (ROCK + [6] * 25 + ROCK + [0] * 25) * 3


def test_plain_lines_where_the_output_is_no_terminal():
    out = io.StringIO()
    live = Live(out, shipped_limits())
    for message in batches(ROCK_AND_HOLD):
        live(message)
    live(m.Event(m.GAUGE_SILENT, 0, 5_000_000, 0))
    live.end()
    text = out.getvalue()
    assert "\x1b" not in text
    assert "held       1 of 6 holds   lowest +0.0000 in   highest +0.0040 in" in text
    assert "done       6 of 6 holds" in text
    assert "5.00 s  indicator: silent; check its cable and its cell" in text


@pytest.fixture
def terminal(monkeypatch):
    """A real terminal of 80 by 24, and what was written to it."""
    near, far = pty.openpty()
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    with os.fdopen(far, "w", encoding="utf-8") as out:
        yield out, near
    os.close(near)


def read_all(near):
    os.set_blocking(near, False)
    data = b""
    while True:
        try:
            data += os.read(near, 65536)
        except BlockingIOError:
            return data.decode()


def test_a_panel_with_large_digits_on_a_terminal(terminal):
    out, near = terminal
    live = Live(out, shipped_limits(), "left.capture")
    live.linked("/dev/ttyACM0")
    live(m.StatusReply(1, 1, 0, 5, 0, 0, 3_920, 9_000))
    for message in batches(ROCK_AND_HOLD[:60]):
        live(message)
        screen = read_all(near)
    assert "██" in screen
    assert "\x1b[30;4" in screen
    assert "left.capture   /dev/ttyACM0   battery 3.92 V" in screen
    assert max(len(line) for line in screen.replace("\x1b[K", "").split("\n")) < 110
    live.say("The link is lost.")
    assert "The link is lost." in read_all(near)
    live.end()
    assert read_all(near).endswith("\x1b[?25h")


def test_no_colour_when_asked_for_none(terminal, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    out, near = terminal
    live = Live(out, shipped_limits())
    screen = ""
    for message in batches(ROCK_AND_HOLD[:30]):
        live(message)
        screen += read_all(near)
    assert "██" in screen
    assert "\x1b[30;4" not in screen


def test_it_beeps_when_a_hold_has_settled(terminal):
    out, near = terminal
    live = Live(out, shipped_limits())
    heard = 0
    for message in batches(ROCK_AND_HOLD):
        live(message)
        heard += read_all(near).count("\a")
    assert heard == 6


def test_a_terminal_too_small_for_the_panel_gets_lines(terminal, monkeypatch):
    monkeypatch.setenv("LINES", "8")
    monkeypatch.setenv("COLUMNS", "40")
    out, near = terminal
    live = Live(out, shipped_limits())
    for message in batches([1, 2]):
        live(message)
    text = read_all(near)
    assert "██" not in text
    assert max(map(len, text.splitlines())) < 40
    assert "highest +0.0005 in" in " ".join(text.split())  # broken between words


def test_a_panel_follows_the_size_of_its_terminal(terminal, monkeypatch):
    out, near = terminal
    live = Live(out, shipped_limits(), "left.capture")
    live.say("The link is lost. " * 8)
    for columns, rows, is_panel in ((100, 30, True), (60, 30, False), (78, 16, True)):
        monkeypatch.setenv("COLUMNS", str(columns))
        monkeypatch.setenv("LINES", str(rows))
        live(m.Event(m.GAUGE_SILENT, 0, 5_000_000, 0))
        read_all(near)
        for message in batches([rows] * 2, spacing_us=6_000_000):
            live(message)
        text = read_all(near).split("\x1b[?25l")[-1]
        assert ("██" in text) == is_panel
        assert not is_panel or text.count("\n") < rows  # else each drawing moves it up
        assert max(map(len, text.replace("\x1b[K", "").splitlines())) < columns
    live.end()
    assert read_all(near).endswith("\x1b[?25h")


def test_a_panel_is_drawn_below_what_others_wrote_meanwhile(terminal):
    out, near = terminal
    live = Live(out, shipped_limits())
    for message in batches([1, 2]):
        live(message)
    assert "A\r" in read_all(near)  # up, over what it drew before
    live.came_back()
    for message in batches([3]):
        live(message)
    assert "A\r" not in read_all(near)


def test_large_digits():
    assert enlarge("-8", "#") == [
        "            ####",
        "          ##    ##",
        "######      ####",
        "          ##    ##",
        "            ####",
    ]
    assert enlarge("x") == [""] * 5

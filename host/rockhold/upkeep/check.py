"""A board's self-test, seen from the host: what is right, what is not, and where to look."""

from collections.abc import Iterator
from dataclasses import dataclass

from rockhold.errors import NoBoardError
from rockhold.upkeep.hints import hint_for
from rockhold.upkeep.upkeep import Refused, Upkeep
from rockwire import messages as m
from rockwire import units
from rockwire import upkeep as u

OK, FAULT, UNKNOWN = "ok", "fault", "not known"

_MOST_DRIFT_PPM = 200.0  # a crystal is within 50 ppm from -10 to 60 °C; beyond this one is broken
_LEAST_HEAP = 16_384
_LEAST_FLASH = 65_536
_BATTERY_LOW_MV = 3_300
_FRESH_MS = 2_500


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the self-test.

    Attributes:
        what: What was looked at.
        state: OK, FAULT or UNKNOWN.
        seen: What was seen.
        look: For a fault, what to look at.
    """

    what: str
    state: str
    seen: str
    look: str = ""


def check_board(board: Upkeep, watch_s: float = 3.0) -> Iterator[Finding]:
    """Look the board over and yield what was found.

    Args:
        board: The way to it.
        watch_s: How long its sources and its clock are watched.
    """
    health = board.ask(u.HealthReply, u.Health)
    yield from _of_health(health)
    before = list(_probes(board))
    first = _clock(board)
    board.host.pause(watch_s)
    after = list(_probes(board))
    last = _clock(board)
    for earlier, later in zip(before, after, strict=True):
        yield _of_source(earlier, later)
    yield _of_clock(first, last)


def _of_health(health: u.HealthReply) -> Iterator[Finding]:
    words = health.data.decode("utf-8", errors="replace")
    yield from _of_settings(health.settings, words)
    low = 0 < health.heap_free < _LEAST_HEAP
    yield Finding(
        "memory",
        FAULT if low else OK,
        f"{health.heap_free // 1024} KB free",
        "Fewer sources in the settings; then switch the board off and on" if low else "",
    )
    yield _of_flash(health)
    yield _of_battery(health.battery_mv)
    if health.cause == 3:
        yield Finding(
            "last start",
            FAULT,
            "the watchdog restarted the board: its program stood still for 8 s",
            "Once may be a glitch of the supply; if it comes again, put the program on it anew",
        )


def _of_settings(state: int, words: str) -> Iterator[Finding]:
    """Say how the settings stand; words about the board that are not about them come apart."""
    said = u.SETTINGS_STATES.get(state, "unknown")
    if state == u.SETTINGS_UNUSABLE:
        look = "Put right what it names and store them again: rockhold board settings FILE"
        yield Finding("settings", FAULT, f"{said}: {words}", look)
        return
    yield Finding("settings", OK, said)
    if words:
        look = (
            "It records all the same, over its cable or alone. Switch it off and on; if that does "
            "not help, the module's radio is broken, or it is one without radio"
        )
        yield Finding("radio", FAULT, words, look)


def _of_flash(health: u.HealthReply) -> Finding:
    held = f"{health.unfetched} captures waiting, {health.fetched} that a host has"
    seen = f"{health.flash_free // 1024} of {health.flash_size // 1024} KB free, {held}"
    if not health.flash_size:
        return Finding(
            "flash", FAULT, "no room for captures", "Set the board up: rockhold board setup"
        )
    if health.flash_free < _LEAST_FLASH:
        look = "Fetch what is waiting, then it makes room by itself: rockhold board fetch"
        return Finding("flash", FAULT, seen, look)
    return Finding("flash", OK, seen)


def _of_battery(millivolt: int) -> Finding:
    if not millivolt:
        return Finding("battery", UNKNOWN, "not measured (USB supply, or no divider fitted)")
    seen = f"{millivolt / 1000:.2f} V"
    if millivolt < _BATTERY_LOW_MV:
        return Finding("battery", FAULT, seen, "Charge it; below 3.3 V it has minutes left")
    return Finding("battery", OK, seen)


def _probes(board: Upkeep) -> Iterator[u.ProbeReply]:
    index = 0
    while True:
        try:
            yield board.ask(u.ProbeReply, u.Probe, index)
        except Refused as error:
            if error.result == m.NOT_UNDERSTOOD:
                return
            raise
        index += 1


def _of_source(before: u.ProbeReply, after: u.ProbeReply) -> Finding:
    kind = m.KINDS.get(after.kind, "unknown")
    what = f"{after.name} ({kind})"
    hint = hint_for(kind)
    new = after.readings - before.readings
    troubles = after.troubles - before.troubles
    if not new and troubles:
        return Finding(what, FAULT, f"no reading, {troubles} damaged", hint.troubled)
    if not new or after.age_ms > _FRESH_MS:
        seen = "not heard" if not after.readings else "silent now; it was heard before"
        return Finding(what, FAULT, seen, hint.silent)
    rate_hz = 1e6 / after.period_us if after.period_us else 0.0
    value = after.count * after.mantissa * 10.0**after.exponent
    shown = f"{value:.{max(0, -after.exponent)}f} {units.NAMES.get(after.unit, '')}"
    seen = f"{rate_hz:.1f} readings a second, now {shown}"
    if troubles > max(1, new // 10):
        return Finding(what, FAULT, f"{seen}; {troubles} damaged", hint.troubled)
    return Finding(what, OK, seen)


@dataclass(frozen=True, slots=True)
class _Pair:
    board_us: int
    sent_us: int
    received_us: int


def _clock(board: Upkeep) -> _Pair:
    """Return the clocks' pair with the shortest way of five."""
    pairs = []
    for _ in range(5):
        reply, answer = board.exchange(m.ClockReply, m.Clock, board.host.steady_us())
        pairs.append(_Pair(reply.board_us, answer.sent_us, answer.received_us))
    return min(pairs, key=lambda pair: pair.received_us - pair.sent_us)


def _of_clock(first: _Pair, last: _Pair) -> Finding:
    """Compare the clocks: the board's time lies between sending and receiving."""
    host_us = (last.sent_us + last.received_us - first.sent_us - first.received_us) / 2
    board_us = last.board_us - first.board_us
    if host_us <= 0:
        raise NoBoardError("the host's clock stood still during the check")
    drift_ppm = 1e6 * (board_us / host_us - 1)
    ways_us = (last.received_us - last.sent_us + first.received_us - first.sent_us) / 2
    doubt_ppm = 1e6 * ways_us / host_us
    seen = f"{drift_ppm:+.0f} ppm against this computer, known to {doubt_ppm:.0f} ppm"
    if abs(drift_ppm) > _MOST_DRIFT_PPM + doubt_ppm:
        look = "The board's crystal or this computer's clock is off; try another computer"
        return Finding("clock", FAULT, seen, look)
    return Finding("clock", OK, seen)

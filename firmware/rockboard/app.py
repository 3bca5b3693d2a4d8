"""The board's program: rounds that move readings to the session and bytes to and from hosts.

Everything that touches hardware is passed in. A feed gives `drain()` and moves what interrupt or
DMA collected to its source; a source gives `poll(now_us)`; links are described in talk.py.
"""

import hashlib
import os
import time

from rockwire import guide as g
from rockwire import messages as m

from .talk import Talk

REST_MS = 5  # between two rounds in which no host was told anything
IDLE_STEP_MS = 20  # nothing is recorded: the rings hold for longer than this
MOST_LINES = 8  # that one host gets in a round: readings and the other hosts wait meanwhile
BATTERY_LOW_MV = 3_300  # one lithium cell: it has minutes left
SILENT_MS = 2_000
_LOOK_MS = 1_000  # between two looks at the battery
LONG_PRESS_MS = 2_000  # ends a capture even where the host made a press only tell
_NONCE_PREFIX = b"rockhold button nonce 1"


def button_nonce(clock) -> bytes:
    """Return the nonce of a capture that no host opened; never twice the same.

    The first 16 bytes of SHA-256 over a prefix, 32 bytes of the board's random source and the
    board's time.
    """
    text = _NONCE_PREFIX + os.urandom(32) + clock.now_us().to_bytes(8, "little")
    return hashlib.sha256(text).digest()[: m.NONCE_SIZE]


class App:
    """Ties a session to its sources, its links and the technician.

    Args:
        session: The board's session.
        feeds: What to drain on every tick.
        sources: What to poll on every tick; their sinks are the session's channels.
        ports: The board: `clock`, `pressed_ms()` (how long the button was held when it was let go,
            else 0), `battery_mv()`, `feed_watchdog()` and `links`.
        guide: Follows the indicator.
        player: Plays the guide's signals.
        desk: Says when the console is wanted, and whether the stored settings can be used.
        spool: Captures on flash, or None.
    """

    def __init__(self, session, feeds, sources, ports, guide, player, desk, spool) -> None:
        self._session = session
        self._feeds = feeds
        self._sources = sources
        self._ports = ports
        self._guide = guide
        self._player = player
        self._desk = desk
        self._spool = spool
        self._settings_refused = bool(desk.problem)
        self._talks = [Talk(link, session) for link in ports.links]
        self._speaker = self._talks[0]  # the link that gets the records
        self._battery_low = False
        self._since_look_ms = _LOOK_MS
        self._was_recording = False
        self._told = 0  # holds of this capture

    def run(self) -> None:
        """Run until a host asks for the console."""
        last_ms = time.ticks_ms()
        while not (self._desk.leaving and self._speaker.idle):
            now_ms = time.ticks_ms()
            elapsed_ms = time.ticks_diff(now_ms, last_ms)
            if self._session.state == m.RECORDING or elapsed_ms >= IDLE_STEP_MS:
                self.step(elapsed_ms)
                last_ms = now_ms
            if not self._converse():
                time.sleep_ms(REST_MS)
        self._player.off()

    def step(self, elapsed_ms: int) -> None:
        """Do once what has to be done again and again."""
        self.breathe()
        now_us = self._ports.clock.now_us()
        self._mind_button()
        self._session.poll(elapsed_ms)
        self._mind_battery(elapsed_ms)
        self._mind_capture()
        self._player.show(self._signal(now_us), elapsed_ms)
        self._ports.feed_watchdog()

    def breathe(self) -> None:
        """Take in what the hardware holds; the flash calls this before each erase, too."""
        # Before, not after: what comes while the feeds drain must not look like a rest of the line.
        now_us = self._ports.clock.now_us()
        for feed in self._feeds:
            feed.drain()
        for source in self._sources:
            source.poll(now_us)

    def _mind_button(self) -> None:
        held_ms = self._ports.pressed_ms()
        if not held_ms:
            return
        if self._session.state == m.RECORDING:
            self._session.event(m.BUTTON, held_ms)
            if held_ms >= LONG_PRESS_MS or not self._session.button_tells:
                self._session.close(m.BY_BUTTON)
        elif self._spool is not None and not self._spool.full:
            self._session.open(button_nonce(self._ports.clock), 0, 1)

    def _mind_capture(self) -> None:
        recording = self._session.state == m.RECORDING
        if recording and not self._was_recording:
            self._guide.reset()
            if self._settings_refused:
                self._session.event(m.SETTINGS_REFUSED)
        self._was_recording = recording
        if self._guide.count != self._told:
            self._told = self._guide.count
            if self._told:
                self._session.event(m.HOLD_TOLD, self._told)

    def _mind_battery(self, elapsed_ms: int) -> None:
        self._since_look_ms += elapsed_ms
        if self._since_look_ms < _LOOK_MS:
            return
        self._since_look_ms = 0
        now_mv = self._ports.battery_mv()
        low = 0 < now_mv < BATTERY_LOW_MV
        if low and not self._battery_low:
            self._session.event(m.BATTERY_LOW, now_mv)
        self._battery_low = low

    def _signal(self, now_us: int) -> int:
        session = self._session
        trouble = self._battery_low or (self._spool is not None and self._spool.full)
        if session.state != m.RECORDING:
            return g.TROUBLE if trouble or self._settings_refused else g.READY
        channel = session.channels[0]
        if trouble or channel.dropped or channel.age_ms(now_us) > SILENT_MS:
            return g.TROUBLE
        return self._guide.phase

    def _converse(self) -> bool:
        """Listen to every host and tell them what waits; return whether a link took anything."""
        spoke = False
        for talk in self._talks:
            if talk.listen():
                self._speaker = talk
            for _ in range(MOST_LINES):
                if not talk.speak(talk is self._speaker):
                    break
                spoke = True
        return spoke

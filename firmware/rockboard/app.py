"""The board's program: tasks that move edges to sources and bytes to and from a host.

Everything that touches hardware is passed in. A link gives `read()` (bytes or b"", never waits),
`write(data)` (how many bytes it took, never waits) and `wait()` (a coroutine until it may be worth
trying again). A feed gives `drain()` and moves what its interrupt collected to its source.
"""

import asyncio
import time

from rockwire import frames
from rockwire import messages as m
from rockwire.decoder import Decoder

TICK_MS = 5


class App:
    """Ties a session to its feeds and its link.

    Args:
        session: The board's session.
        feeds: What to drain on every tick.
        sources: What to poll on every tick; their sinks are the session's channels.
        clock: The board's clock.
        link: Where the host is.
        button: `pressed_ms()` returns how long the button was held when it was let go, else 0.
        guard: Of a link that strangers can reach; None for a cable.
    """

    def __init__(self, session, feeds, sources, clock, link, button, guard=None) -> None:
        self._session = session
        self._feeds = feeds
        self._sources = sources
        self._clock = clock
        self._link = link
        self._button = button
        self._guard = guard
        self._decoder = Decoder()
        self._answers = []  # packets that go out before any record
        self._line = b""  # what is left of the line being sent

    async def run(self) -> None:
        """Run for ever."""
        await asyncio.gather(self._tick(), self._listen(), self._talk())

    async def _tick(self) -> None:
        last_ms = time.ticks_ms()
        while True:
            for feed in self._feeds:
                feed.drain()
            now_us = self._clock.now_us()
            for source in self._sources:
                source.poll(now_us)
            self._mind_button()
            now_ms = time.ticks_ms()
            self._session.poll(time.ticks_diff(now_ms, last_ms))
            last_ms = now_ms
            await asyncio.sleep_ms(TICK_MS)

    def _mind_button(self) -> None:
        held_ms = self._button.pressed_ms()
        if not held_ms:
            return
        self._session.event(m.BUTTON, held_ms)
        if self._session.state == m.RECORDING:
            self._session.close(m.BY_BUTTON)

    async def _listen(self) -> None:
        while True:
            data = self._link.read()
            if not data:
                await self._link.wait()
                continue
            for event in self._decoder.feed(data):
                self._obey(event)
            await asyncio.sleep_ms(0)

    def _obey(self, event) -> None:
        # Damage on the way to the board needs no answer: the host repeats a command whose answer
        # does not come.
        if isinstance(event, frames.Frame) and event.message is not None:
            reply = self._session.answer(event.message, self._guard)
            if reply is not None:
                self._answers.append(frames.pack(reply))

    async def _talk(self) -> None:
        while True:
            if not self._line:
                self._line = self._next_line()
            taken = self._link.write(self._line) if self._line else 0
            self._line = self._line[taken:]
            await asyncio.sleep_ms(0 if taken else TICK_MS)

    def _next_line(self) -> bytes:
        if self._answers:
            return frames.to_line(self._answers.pop(0))
        packet = self._session.next_record()
        return frames.to_line(packet) if packet else b""

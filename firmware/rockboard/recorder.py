"""Captures in the making: readings of all sources as numbered, chained records, until the seal.

ready ── open ──▶ recording ── close ──▶ ready
             records wait in the sender until a host has them on disk;
             those that wait too long go to the spool on flash
"""

from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain

from .channel import Channel

FIRMWARE = bytes((0, 1, 0))

# Room that readings never use, so that a capture whose ring is full can still be closed: for each
# source a Dropped and an Extremes, then Close and Seal.
RESERVE = 768

# Once full, readings wait until this much more is free: a Dropped for every batch that just misses
# would fill the ring with Dropped.
RELIEF = 512

# A record that waits this long for a host is written to flash. With the 200 ms that a reading may
# wait in its batch, a power cut costs less than half a second.
SAVE_AFTER_MS = 200

_STEPS = 4  # in which that time is counted: acknowledgements that trickle do not put it off

HOST_GONE_MS = 1_000  # a host that has not acknowledged for this long does not take the records

_LONGEST_STEP_MS = 100  # the board stood still for longer: acknowledgements wait to be read


class Recorder:
    """One board, its sources and the capture that is running or was last.

    Args:
        identity: Gives `board_id`, `public_key`, `name` and `sign(text)`, None where no key is.
        clock: Gives `now_us()`.
        sender: Keeps the records until they are acknowledged.
        names: Kind and name of each source, in the order of their index.
        spool: Where records go that no host takes; None for a board without.

    Attributes:
        names: Kind and name of each source, in the order of their index.
        button_tells: Whether a short press of the button only tells the host.
    """

    def __init__(self, identity, clock, sender, names, spool=None) -> None:
        self._identity = identity
        self._clock = clock
        self._sender = sender
        self.names = names
        self._spool = spool
        if spool is not None:
            sender.store = spool
        self._step_ms = 0
        self._ages = [0] * _STEPS  # numbers that came next, one a step, the oldest first
        self._since_ack_ms = HOST_GONE_MS
        self._told_full = False
        self.channels = [Channel(index, self._put_reading) for index in range(len(names))]
        for channel in self.channels:
            channel.active = False
        self.state = m.READY
        self.button_tells = False
        self.nonce = bytes(m.NONCE_SIZE)
        self._chain = Chain(self.nonce)
        self._spare = RESERVE  # what readings and events leave free; nothing once it closes

    def open(self, nonce: bytes, host_utc_us: int, origin: int) -> None:
        """Begin a capture; records of an earlier one that still wait are kept in the spool."""
        self._save(True)
        self._sender.reset()
        self.nonce = nonce
        if self._spool is not None:
            self._spool.begin(nonce)
        self._told_full = False
        self._ages = [0] * _STEPS
        self._chain = Chain(nonce)
        self.state = m.RECORDING
        self._spare = RESERVE
        now_us = self._clock.now_us()
        self._put(m.Open(nonce, self._identity.board_id, now_us, host_utc_us, FIRMWARE, origin))
        for index, (kind, name) in enumerate(self.names):
            self.channels[index].reset()
            self._put(m.Source(index, kind, name))

    def close(self, reason: int) -> None:
        """End the capture: last readings, extremes, close, and the seal where there is a key."""
        self._spare = 0
        for channel in self.channels:
            channel.finish()
        self._put(m.Close(self._clock.now_us(), reason))
        # Signing takes about a second on a chip; what it signs is safe before.
        if self._since_ack_ms >= HOST_GONE_MS:
            self._save(True)
        if self._spool is not None:
            self._spool.let_go()
        try:
            signature = self._identity.sign(self.nonce, self._chain)
        except MemoryError:
            signature = None  # an unsigned capture is better than a board that stands still
        if signature is not None:
            self._put(m.Seal(self._identity.public_key, signature))
        self.state = m.READY
        self.button_tells = False

    def event(self, code: int, value: int = 0) -> None:
        """Put an event that is not about one source into the running capture."""
        if self.state == m.RECORDING:
            for channel in self.channels:
                channel.flush()
            self._put_reading(m.Event(code, m.ALL_SOURCES, self._clock.now_us(), value))

    def poll(self, elapsed_ms: int) -> None:
        """Let time pass: batches that waited long enough, acknowledgements that did not come."""
        if self.state == m.RECORDING:
            now_us = self._clock.now_us()
            for channel in self.channels:
                channel.poll(now_us)
        if self._spool is not None:
            self._mind_unsaved(elapsed_ms)

    def settle(self) -> None:
        """Write what waits, now, unless a capture is running."""
        if self.state == m.READY:
            self._save(True)

    def _mind_unsaved(self, elapsed_ms: int) -> None:
        """Save records that have waited too long for a host."""
        sender = self._sender
        elapsed_ms = min(elapsed_ms, _LONGEST_STEP_MS)
        self._since_ack_ms += elapsed_ms
        self._step_ms += elapsed_ms
        while self._step_ms >= SAVE_AFTER_MS // _STEPS:
            self._step_ms -= SAVE_AFTER_MS // _STEPS
            if sender.saved < self._ages[0]:
                self._save(self.state == m.READY)
            self._ages = self._ages[1:] + [sender.next_number]

    def _save(self, all_of_it: bool) -> None:
        if self._spool is None or not self._sender.unsaved:
            return
        if not self._spool.save(self._sender, all_of_it) and not self._told_full:
            self._told_full = True
            self.event(m.FLASH_FULL)

    def _put_reading(self, message) -> bool:
        if self.state != m.RECORDING:
            return True
        stored = self._put(message, self._spare)
        if self._spare:
            self._spare = RESERVE if stored else RESERVE + RELIEF
        return stored

    def _put(self, message, spare: int = 0) -> bool:
        body = frames.record_body(message, self._sender.next_number)
        if not self._sender.fits(len(body) + frames.TAG_SIZE + frames.CRC_SIZE, spare):
            return False
        self._sender.put(frames.pack_record(body, self._chain.extend(body)))
        return True

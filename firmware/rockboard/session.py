"""The board's side of a conversation: commands in, answers and records out.

    ready ── Start, button ──▶ recording ── Stop, button ──▶ ready
                                  records wait in the sender until a host has them on disk

It knows no port and no task: whoever owns a link feeds it messages and sends what it returns.
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


class Session:
    """One board, its sources and the capture that is running or was last.

    Args:
        identity: Gives `board_id`, `public_key`, `name` and `sign(text)`, None where no key is.
        clock: Gives `now_us()`.
        sender: Keeps the records until they are acknowledged.
        names: Kind and name of each source, in the order of their index.
    """

    def __init__(self, identity, clock, sender, names) -> None:
        self._identity = identity
        self._clock = clock
        self._sender = sender
        self._names = names
        self.channels = [Channel(index, self._put_reading) for index in range(len(names))]
        self.state = m.READY
        self.nonce = bytes(m.NONCE_SIZE)
        self._chain = Chain(self.nonce)
        self._spare = (
            RESERVE  # what readings and events leave free; nothing once the capture closes
        )

    # --- captures ---------------------------------------------------------------------------

    def open(self, nonce: bytes, host_utc_us: int, origin: int) -> None:
        """Begin a capture; records of an earlier one that still wait are given up."""
        self._sender.reset()
        self.nonce = nonce
        self._chain = Chain(nonce)
        self.state = m.RECORDING
        self._spare = RESERVE
        now_us = self._clock.now_us()
        self._put(m.Open(nonce, self._identity.board_id, now_us, host_utc_us, FIRMWARE, origin))
        for index, (kind, name) in enumerate(self._names):
            self.channels[index].reset()
            self._put(m.Source(index, kind, name))

    def close(self, reason: int) -> None:
        """End the capture: last readings, extremes, close, and the seal where there is a key."""
        self._spare = 0
        for channel in self.channels:
            channel.finish()
        self._put(m.Close(self._clock.now_us(), reason))
        signature = self._identity.sign(self.nonce, self._chain)
        if signature is not None:
            self._put(m.Seal(self._identity.public_key, signature))
        self.state = m.READY

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
        self._sender.pass_time(elapsed_ms)

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

    # --- conversation -----------------------------------------------------------------------

    def next_record(self):
        """Return the next record's packet to send, or None."""
        return self._sender.take()

    def answer(self, message, guard=None):
        """Obey a command and return the answering message, or None.

        Args:
            message: The command as it came.
            guard: Of a link that strangers can reach (radio): nothing passes it without the board's
                key, except questions.
        """
        if guard is not None:
            message, refusal = guard.admit(message)
            if message is None:
                return refusal
        kind = type(message)
        if kind is m.Ack:
            if message.nonce_start == self.nonce[: len(message.nonce_start)]:
                self._sender.acknowledge(message.next_number)
            return None
        if kind is m.Hello:
            return self._ident(message.request)
        if kind is m.Clock:
            return m.ClockReply(message.request, message.host_us, self._clock.now_us())
        if kind is m.Status:
            return self._status(message.request)
        if kind is m.Start:
            return m.Done(message.request, self._start(message))
        if kind is m.Stop:
            return m.Done(message.request, self._stop())
        if kind is m.Resume:
            return m.Done(message.request, self._resume(message))
        return None

    def _start(self, message) -> int:
        if message.nonce == self.nonce and self._sender.next_number:
            return m.DONE  # the command again, because its answer was lost
        if self.state == m.RECORDING:
            return m.BUSY
        self.open(message.nonce, message.host_utc_us, 0)
        return m.DONE

    def _stop(self) -> int:
        if self.state == m.RECORDING:
            self.close(m.BY_HOST)
            return m.DONE
        return m.NOT_RECORDING

    def _resume(self, message) -> int:
        if message.nonce != self.nonce:
            return m.UNKNOWN_CAPTURE
        if not self._sender.acknowledge(message.next_number):
            return m.UNKNOWN_CAPTURE
        self._sender.go_back()
        return m.DONE

    def _ident(self, request: int):
        who = self._identity
        return m.Ident(
            request,
            m.PROTOCOL_VERSION,
            FIRMWARE,
            who.board_id,
            who.public_key or bytes(m.KEY_SIZE),
            self.state,
            self.nonce,
            self._sender.next_number,
            who.name,
        )

    def _status(self, request: int):
        return m.StatusReply(
            request,
            self.state,
            self._clock.now_us(),
            self._sender.next_number,
            self._sender.waiting,
            sum([channel.dropped for channel in self.channels]),
            0,
            self._sender.room,
        )

"""The board's side of a conversation: commands in, answers and records out.

It knows no port and no loop: whoever owns a link feeds it messages and sends what it returns.
"""

from rockwire import messages as m

from .recorder import FIRMWARE, Recorder


class Session(Recorder):
    """A recorder that hosts can talk to; one of them gets the records.

    Attributes:
        desk: Answers the commands that are not about the running capture; may be None.
    """

    def __init__(self, identity, clock, sender, names, spool=None) -> None:
        super().__init__(identity, clock, sender, names, spool)
        self.desk = None
        self._outlet = sender  # what goes to the host: the running capture, or one from flash
        self._outlet_nonce = self.nonce

    def open(self, nonce: bytes, host_utc_us: int, origin: int) -> None:
        """Begin a capture; it is what the host gets from now on."""
        self._serve_running()  # first: making room may delete what the host was reading
        super().open(nonce, host_utc_us, origin)
        self._outlet_nonce = nonce

    def poll(self, elapsed_ms: int) -> None:
        """Let time pass: for the capture, and for a host that does not acknowledge."""
        super().poll(elapsed_ms)
        self._outlet.pass_time(elapsed_ms)

    def next_record(self):
        """Return the next record's packet to send, or None."""
        return self._outlet.take()

    def answer(self, message, guard=None):
        """Obey a command and return the answering message, or None.

        Args:
            message: The command as it came.
            guard: Of a link that strangers can reach (radio): nothing passes it without the board's
                key, except questions.
        """
        stranger = guard is not None and not isinstance(message, m.Guarded)
        if guard is not None:
            message, refusal = guard.admit(message)
            if message is None:
                return refusal
        kind = type(message)
        if kind is m.Ack:
            self._acknowledge(message)
            return None
        if kind is m.Hello:
            return self._ident(message.request, stranger)
        if kind is m.Clock:
            return m.ClockReply(message.request, message.host_us, self._clock.now_us())
        if kind is m.Status:
            return self._status(message.request)
        if kind is m.Start:
            return m.Done(message.request, self._start(message))
        if kind is m.Stop:
            return m.Done(message.request, self._stop())
        if kind is m.Button:
            self.button_tells = message.tells == 1
            return m.Done(message.request, m.DONE)
        if kind is m.Resume:
            return m.Done(message.request, self._resume(message))
        if self.desk is None:
            return None
        return self.desk.answer(message, guard is None)

    def _acknowledge(self, message) -> None:
        size = len(message.nonce_start)
        if message.nonce_start != self._outlet_nonce[:size]:
            return
        self._outlet.acknowledge(message.next_number)
        self._since_ack_ms = 0
        if self._outlet.waiting or self._spool is None or self.state == m.RECORDING:
            return
        if self._outlet is self._sender:
            self._spool.all_taken()
        else:
            self._outlet.close()
            self._spool.mark_fetched(self._outlet.number)

    def _serve_running(self) -> None:
        if self._outlet is not self._sender:
            self._outlet.close()
        self._outlet = self._sender
        self._outlet_nonce = self.nonce

    def _start(self, message) -> int:
        if message.nonce == self.nonce and self._sender.next_number:
            return m.DONE  # the command again, because its answer was lost
        if self.state == m.RECORDING:
            return m.BUSY
        if self._spool is not None and self._spool.find(message.nonce) is not None:
            return m.UNKNOWN_CAPTURE  # it was running when the board was reset, and is for fetching
        self.open(message.nonce, message.host_utc_us, 0)
        self._since_ack_ms = 0
        return m.DONE

    def _stop(self) -> int:
        if self.state == m.RECORDING:
            self.close(m.BY_HOST)
            return m.DONE
        return m.NOT_RECORDING

    def _resume(self, message) -> int:
        if message.nonce == self.nonce:
            self._serve_running()
        elif message.nonce != self._outlet_nonce:
            number = self._spool.find(message.nonce) if self._spool is not None else None
            if number is None:
                return m.UNKNOWN_CAPTURE
            if self.state == m.RECORDING:
                return m.BUSY
            from .refill import Refill  # seldom needed: loaded when it is

            self._outlet = Refill(self._spool.reader(number), number)
            self._outlet_nonce = message.nonce
        if not self._outlet.acknowledge(message.next_number):
            return m.UNKNOWN_CAPTURE
        self._outlet.go_back()
        return m.DONE

    def _ident(self, request: int, stranger: bool):
        who = self._identity
        # Which capture is running, and how long it is, is nobody's business but the host's.
        nonce, records = (
            (bytes(m.NONCE_SIZE), 0) if stranger else (self.nonce, self._sender.next_number)
        )
        return m.Ident(
            request,
            m.PROTOCOL_VERSION,
            FIRMWARE,
            who.board_id,
            who.public_key or bytes(m.KEY_SIZE),
            self.state,
            nonce,
            records,
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

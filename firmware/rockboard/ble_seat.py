"""One host's seat at the radio: a link, and what its host may do.

`sit`, `rise` and `take` run in the interrupt: they copy and count, and allocate nothing. Another
host may sit down between any two steps of the program, so whatever was read, and whatever waits to
be sent, belongs to a visit.
"""

SMALLEST_MTU = 23
RING = 1024  # bytes of a seat that wait to be read
AHEAD = 6  # notifications that may be on their way at once, then one for each STEP_MS
STEP_MS = 4
FULL_MS = 20  # how long to leave a full stack alone


class Door:
    """One seat's share of the board's guard: remembers whether its host showed the key.

    Args:
        guard: The board's Guard, the same for all seats.
        seat: The seat.
    """

    def __init__(self, guard, seat) -> None:
        self._guard = guard
        self._seat = seat
        self._known_visit = -1

    @property
    def known(self) -> bool:
        """Whether the host that sits there has sent a command with the right MAC."""
        seat = self._seat
        return seat.connection is not None and self._known_visit == seat.arrivals

    def admit(self, message):
        """Return (command to obey or None, answer to send at once or None)."""
        command, refusal = self._guard.admit(message)
        # The visit is that of the bytes the message came with: somebody else may sit there by now.
        if command is not None and command is not message:
            self._known_visit = self._seat.visit
        return command, refusal


class Seat:
    """One host's place; a link.

    Args:
        radio: Sends for it.
        guard: The board's Guard.

    Attributes:
        arrivals: How many hosts have sat down here; counted in the interrupt.
        visit: Which of them sent what `read` returned last.
        connection: The stack's handle, None when nobody sits here.
        lost: Bytes that found the ring full. Commands are repeated, so it costs time only.
    """

    def __init__(self, radio, guard) -> None:
        self._radio = radio
        self.guard = Door(guard, self)
        self.arrivals = self.visit = 0
        self.connection = None
        self.mtu = SMALLEST_MTU
        self.lost = 0
        self.asked_mtu = False
        self.since_ms = 0  # how long this host has been here
        self._ring = bytearray(RING)
        self._head = self._tail = self._begin = 0
        self._credit = AHEAD
        self._credit_ms = radio.ticks_ms()

    # --- in the interrupt -------------------------------------------------------------------

    def sit(self, connection: int) -> None:
        """Give the seat to a new host."""
        self.mtu = SMALLEST_MTU
        self.asked_mtu = False
        self.since_ms = 0
        self._begin = self._head  # what the last host left is not his
        self.arrivals += 1
        self.connection = connection

    def rise(self) -> None:
        """Take note that the host is gone."""
        self.connection = None

    def take(self, data: bytes) -> None:
        """Put what was written into the ring, all of it or nothing."""
        size = len(data)
        head = self._head
        if (self._tail - head - 1) % RING < size:
            self.lost += size
            return
        for value in data:
            self._ring[head] = value
            head = head + 1 if head + 1 < RING else 0
        self._head = head

    # --- the link ---------------------------------------------------------------------------

    def read(self) -> bytes:
        """Return what has come, b"" when nothing has."""
        if self.visit != self.arrivals:
            self.visit = self.arrivals
            self._tail = self._begin
            self._credit = AHEAD
        head, tail = self._head, self._tail
        if head == tail:
            return b""
        self._tail = head
        ring = self._ring
        return bytes(ring[tail:head]) if tail < head else bytes(ring[tail:]) + bytes(ring[:head])

    def write(self, data: bytes) -> int:
        """Send what fits one notification and return how much that was."""
        connection = self.connection
        if connection is None or self.visit != self.arrivals:
            return len(data)  # meant for somebody who has left
        if not self._may_send():
            return 0
        part = data[: self.mtu - 3]
        try:
            self._radio.notify(connection, part)
        except OSError:
            # Full, or about to end the connection: what is on its way has to leave first, and an
            # incoming write needs room, too.
            self._credit = 0
            self._credit_ms = self._radio.later(FULL_MS)
            return 0
        self._credit -= 1
        return len(part)

    def _may_send(self) -> bool:
        gained = -self._radio.until(self._credit_ms) // STEP_MS
        if gained > 0:
            self._credit = min(AHEAD, self._credit + gained)
            self._credit_ms = self._radio.later(0)
        return self._credit > 0

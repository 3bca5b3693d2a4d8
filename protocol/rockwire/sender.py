"""The board's side of the numbering: keeps records until the host has them on disk.

Records wait in one ring of bytes that is allocated once. The host acknowledges the next number
that it wants; everything before it is let go. Sending runs ahead of the acknowledgement by a
window, and goes back when the host asks or stays silent too long.

Where the board has a store on flash, records that no host took are saved there too, and then give
up their place in the ring when it is needed; they are sent from the store.
"""

_LENGTH_BYTES = 1  # a packet has at most 180 bytes


class Outlet:
    """Numbered records on their way to a host, wherever they lie; `_packet` of a subclass knows.

    Args:
        window: How many records may be on the way unacknowledged.
        patience_ms: How long to wait for an acknowledgement before sending again.

    Attributes:
        oldest: Number of the oldest record that the host has not acknowledged.
        next_number: One more than that of the newest record.
    """

    def __init__(self, window: int = 16, patience_ms: int = 1000) -> None:
        self._window = window
        self._patience_ms = patience_ms
        self._begin(0, 0)

    def _begin(self, oldest: int, next_number: int) -> None:
        self.oldest = oldest
        self.next_number = next_number
        self._send_number = oldest
        self._waited_ms = 0

    @property
    def waiting(self) -> int:
        """How many records the host has not acknowledged."""
        return self.next_number - self.oldest

    def take(self) -> bytes | None:
        """Return the next packet to send, or None when there is none or the window is full."""
        if self._send_number == self.next_number:
            return None
        if self._send_number - self.oldest >= self._window:
            return None
        packet = self._packet(self._send_number)
        if packet is not None:
            self._send_number += 1
        return packet

    def acknowledge(self, next_wanted: int) -> bool:
        """Let go of all records before `next_wanted`; False when that number cannot be."""
        if not self.oldest <= next_wanted <= self.next_number:
            return False
        if next_wanted > self.oldest:
            self.oldest = next_wanted
            self._waited_ms = 0
        if self._send_number < next_wanted:
            self._send_number = next_wanted
        return True

    def go_back(self) -> None:
        """Send again from the oldest record that was not acknowledged."""
        self._send_number = self.oldest
        self._waited_ms = 0

    def pass_time(self, elapsed_ms: int) -> None:
        """Go back when records are on the way and nothing was acknowledged for too long."""
        if self._send_number == self.oldest:
            self._waited_ms = 0
            return
        self._waited_ms += elapsed_ms
        if self._waited_ms >= self._patience_ms:
            self.go_back()

    def _packet(self, number: int) -> bytes | None:
        raise NotImplementedError


class Sender(Outlet):
    """The records of the capture that is running or was last.

    Args:
        ring: Where records wait; a bytearray of the owner's, so that a board can set it aside
            before anything else fills its heap with holes.
        window: How many records may be on the way unacknowledged.
        patience_ms: How long to wait for an acknowledgement before sending again.

    Attributes:
        saved: Number of the first record that is neither in the store nor acknowledged.
        store: Gives `read(number)` for saved records that are not in the ring any more, or None.
    """

    def __init__(self, ring: bytearray, window: int = 16, patience_ms: int = 1000) -> None:
        self._ring = ring
        self.store = None
        super().__init__(window, patience_ms)
        self.reset()

    def reset(self) -> None:
        """Forget everything; the next record gets number 0."""
        self._begin(0, 0)
        self._first = 0  # number of the oldest record in the ring
        self._first_at = 0  # where it begins
        self._used = 0
        self.saved = 0
        self._sending = [0, 0]  # a record's number and where it begins, so that each is found
        self._saving = [0, 0]  # at once by who goes through them in order

    @property
    def room(self) -> int:
        """How many bytes of packets still fit, less one length byte each."""
        return len(self._ring) - self._used

    @property
    def unsaved(self) -> int:
        """How many records would be lost with the power."""
        return self.next_number - self.saved

    def fits(self, size: int, spare: int = 0) -> bool:
        """Say whether a packet of `size` bytes fits and leaves `spare` bytes free."""
        need = size + _LENGTH_BYTES + spare
        while self.room < need and self._first < self.saved:
            self._drop_first()
        return self.room >= need

    def put(self, packet: bytes) -> None:
        """Keep a record's packet; ask `fits` first."""
        at = (self._first_at + self._used) % len(self._ring)
        self._ring[at] = len(packet)
        self._copy_in((at + _LENGTH_BYTES) % len(self._ring), packet)
        self._used += _LENGTH_BYTES + len(packet)
        self.next_number += 1

    def acknowledge(self, next_wanted: int) -> bool:
        """Let go of all records before `next_wanted`; False when that number cannot be."""
        if not super().acknowledge(next_wanted):
            return False
        while self._first < next_wanted:
            self._drop_first()
        if self.saved < next_wanted:
            self.saved = next_wanted
        return True

    def peek(self, ahead: int) -> bytes:
        """Return the packet of an unsaved record: 0 the oldest of them, 1 the one after it."""
        return self._read(self.saved + ahead, self._saving)

    def mark_saved(self, count: int) -> None:
        """Say that the oldest unsaved records are in the store now."""
        self.saved += count

    def _packet(self, number: int) -> bytes | None:
        if number < self._first:
            return self.store.read(number) if self.store else None
        return self._read(number, self._sending)

    def _drop_first(self) -> None:
        size = _LENGTH_BYTES + self._ring[self._first_at]
        self._first_at = (self._first_at + size) % len(self._ring)
        self._used -= size
        self._first += 1

    def _copy_in(self, at: int, packet: bytes) -> None:
        first = min(len(packet), len(self._ring) - at)
        self._ring[at : at + first] = packet[:first]
        self._ring[: len(packet) - first] = packet[first:]

    def _read(self, number: int, mark: list) -> bytes:
        ring = self._ring
        if not self._first <= mark[0] <= number:
            mark[0], mark[1] = self._first, self._first_at
        at = mark[1]
        for _ in range(number - mark[0]):
            at = (at + _LENGTH_BYTES + ring[at]) % len(ring)
        mark[0], mark[1] = number, at
        size = ring[at]
        at = (at + _LENGTH_BYTES) % len(ring)
        first = min(size, len(ring) - at)
        return bytes(ring[at : at + first]) + bytes(ring[: size - first])

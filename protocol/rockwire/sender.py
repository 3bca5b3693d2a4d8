"""The board's side of the numbering: keeps records until the host has them on disk.

Records wait in one ring of bytes that is allocated once. The host acknowledges the next number
that it wants; everything before it is let go. Sending runs ahead of the acknowledgement by a
window, and goes back when the host asks or stays silent too long.
"""

_LENGTH_BYTES = 1  # a packet has at most 180 bytes


class Sender:
    """Numbered records on their way to a host.

    Args:
        ring: Where records wait; a bytearray of the owner's, so that a board can set it aside
            before anything else fills its heap with holes.
        window: How many records may be on the way unacknowledged.
        patience_ms: How long to wait for an acknowledgement before sending again.
    """

    def __init__(self, ring: bytearray, window: int = 16, patience_ms: int = 1000) -> None:
        self._ring = ring
        self._window = window
        self._patience_ms = patience_ms
        self.reset()

    def reset(self) -> None:
        """Forget everything; the next record gets number 0."""
        self._tail_at = 0  # where the oldest kept record begins
        self._used = 0
        self.oldest = 0  # number of the oldest kept record
        self.next_number = 0  # number that the next record gets
        self._send_number = 0
        self._send_at = 0
        self._waited_ms = 0

    @property
    def waiting(self) -> int:
        """How many records are kept."""
        return self.next_number - self.oldest

    @property
    def room(self) -> int:
        """How many bytes of packets still fit, less one length byte each."""
        return len(self._ring) - self._used

    def fits(self, size: int, spare: int = 0) -> bool:
        """Say whether a packet of `size` bytes fits and leaves `spare` bytes free."""
        return self.room >= size + _LENGTH_BYTES + spare

    def put(self, packet: bytes) -> None:
        """Keep a record's packet; ask `fits` first."""
        at = (self._tail_at + self._used) % len(self._ring)
        self._ring[at] = len(packet)
        self._copy_in((at + _LENGTH_BYTES) % len(self._ring), packet)
        self._used += _LENGTH_BYTES + len(packet)
        self.next_number += 1

    def take(self) -> bytes | None:
        """Return the next packet to send, or None when there is none or the window is full."""
        if self._send_number == self.next_number:
            return None
        if self._send_number - self.oldest >= self._window:
            return None
        packet = self._read(self._send_at)
        self._send_at = (self._send_at + _LENGTH_BYTES + len(packet)) % len(self._ring)
        self._send_number += 1
        return packet

    def acknowledge(self, next_wanted: int) -> bool:
        """Let go of all records before `next_wanted`; False when that number cannot be."""
        if not self.oldest <= next_wanted <= self.next_number:
            return False
        while self.oldest < next_wanted:
            size = _LENGTH_BYTES + self._ring[self._tail_at]
            self._tail_at = (self._tail_at + size) % len(self._ring)
            self._used -= size
            self.oldest += 1
            self._waited_ms = 0
        if self._send_number < self.oldest:
            self._send_number = self.oldest
            self._send_at = self._tail_at
        return True

    def go_back(self) -> None:
        """Send again from the oldest kept record on."""
        self._send_number = self.oldest
        self._send_at = self._tail_at
        self._waited_ms = 0

    def pass_time(self, elapsed_ms: int) -> None:
        """Go back when records are on the way and nothing was acknowledged for too long."""
        if self._send_number == self.oldest:
            self._waited_ms = 0
            return
        self._waited_ms += elapsed_ms
        if self._waited_ms >= self._patience_ms:
            self.go_back()

    def _copy_in(self, at: int, packet: bytes) -> None:
        first = min(len(packet), len(self._ring) - at)
        self._ring[at : at + first] = packet[:first]
        self._ring[: len(packet) - first] = packet[first:]

    def _read(self, at: int) -> bytes:
        size = self._ring[at]
        at = (at + _LENGTH_BYTES) % len(self._ring)
        first = min(size, len(self._ring) - at)
        return bytes(self._ring[at : at + first]) + bytes(self._ring[: size - first])

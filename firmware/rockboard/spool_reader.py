"""Reading a capture on flash record by record, the running one too."""

from rockwire import frames
from rockwire.errors import FrameError

from .spool_form import HEAD_SIZE, read_head

_CHUNK = 512
_MARKS = 20  # places that are remembered: more than a sender's window


class Reader:
    """Reads one capture.

    Args:
        path: The file with its records.
        tail_path: The file with its newest records; either may be missing.

    Attributes:
        nonce: The capture's nonce, None when neither file can be read.
        first: Number of its first record on flash.
    """

    def __init__(self, path: str, tail_path: str) -> None:
        self._path = path
        self._tail_path = tail_path
        self._file = None
        self._marks = []  # (number, offset) of records read lately
        self.nonce = None
        self.first = 0
        for name in (tail_path, path):
            head = read_head(name)
            if head is not None:
                self.nonce, self.first = head
        self._at = (self.first, HEAD_SIZE)

    def read(self, number: int):
        """Return a record's packet, or None when it is not there."""
        if number < self.first:
            return None
        packet = self._from_file(number)
        return packet if packet is not None else self._from_tail(number)

    def count(self) -> tuple:
        """Return (number after the last record, type of the last record); reads all of it."""
        number, kind = self.first, 0
        try:
            with open(self._path, "rb") as file:
                file.seek(HEAD_SIZE)
                data = b""
                while True:
                    more = file.read(_CHUNK)
                    data += more
                    at = 0
                    while at < len(data) and at + data[at] < len(data):
                        kind = data[at + 2]
                        at += 1 + data[at]
                        number += 1
                    data = data[at:]
                    if not more:
                        break
        except OSError:
            pass  # all of it is in the tail
        while True:
            packet = self._from_tail(number)
            if packet is None:
                return number, kind
            kind = packet[1]
            number += 1

    def close(self) -> None:
        """Let go of the file."""
        if self._file is not None:
            self._file.close()
        self._file = None

    def _from_file(self, number: int):
        try:
            if self._file is None:
                self._file = open(self._path, "rb")
            self._go_near(number)
            while True:
                at_number, offset = self._at
                self._file.seek(offset)
                size = self._file.read(1)
                packet = self._file.read(size[0]) if size else b""
                if not size or len(packet) < size[0]:
                    self.close()  # the file may have grown; a fresh look sees it
                    return None
                self._marks = self._marks[1 - _MARKS :] + [self._at]
                self._at = (at_number + 1, offset + 1 + size[0])
                if at_number == number:
                    return packet
        except OSError:
            self._file = None
            return None

    def _go_near(self, number: int) -> None:
        if self._at[0] > number:
            near = [mark for mark in self._marks if mark[0] <= number]
            self._at = near[-1] if near else (self.first, HEAD_SIZE)
            self._marks = near[:-1]

    def _from_tail(self, number: int):
        head = read_head(self._tail_path)
        if head is None or number < head[1]:
            return None
        with open(self._tail_path, "rb") as file:
            file.seek(HEAD_SIZE)
            data = file.read()
        at = 0
        for _ in range(number - head[1]):
            if at >= len(data):
                return None
            at += 1 + data[at]
        packet = data[at + 1 : at + 1 + data[at]] if at < len(data) else b""
        return packet if _is_record(packet, number) else None


def _is_record(packet: bytes, number: int) -> bool:
    try:
        return bool(packet) and frames.unpack(packet).number == number
    except FrameError:
        return False

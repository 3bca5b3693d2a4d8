"""Captures on the board's flash: what no host has taken yet.

    spool/000007.cap    header, then records: one length byte and the packet
    spool/000007.tail   the same, for the newest records of the capture
    spool/000006.got    a capture that a host has whole

Their form is in spool_form.py.

littlefs copies the last block of a file that grows, and erasing one takes up to 400 ms. Therefore
new records go into a tail of at most 480 bytes, which littlefs keeps inside the folder's own block
(one short write, seldom an erase), and only when the tail is full its records move to the .cap
file. Either file is replaced or extended as a whole or not at all, whenever the power fails. A
record may stand in both; its number tells.

When the flash is nearly full, captures that a host has are deleted, the oldest first; others never.
"""

import os

from . import spool_form
from .lean import forget

TAIL_MOST = 480  # bytes of records; with the header still what littlefs keeps inline
RESERVE_BYTES = 24 * 1024  # kept free, so that a capture can be closed and littlefs can turn round
_LOOK_EVERY = 2_048  # bytes written between two looks at the free room, which takes long


class Spool:
    """The captures of one folder.

    Args:
        folder: Path of the folder; made when it is not there.

    Attributes:
        full: Whether there is no room for readings, with nothing left that may be deleted.
    """

    def __init__(self, folder: str) -> None:
        self.folder = folder
        try:
            os.mkdir(folder)
        except OSError:
            pass  # it is there
        numbers = [int(name[:6]) for name in self._names()]
        self._number = max(numbers) if numbers else 0
        self._nonce = None
        self._file = None
        self._reader = None
        self._failed = False
        self._make_room()

    # --- the running capture ----------------------------------------------------------------

    def begin(self, nonce: bytes) -> None:
        """Turn to a new capture; nothing is written yet."""
        self.end()
        self._number += 1
        self._nonce = nonce
        self._failed = False
        self._next = None  # number that follows the last saved record
        self._moved = 0  # number that follows the last record in the .cap file
        self._tail = bytearray()
        self._reader = None
        self._make_room()

    def save(self, sender, all_of_it: bool = False) -> bool:
        """Write the sender's unsaved records; False when there is no room or the flash fails.

        Args:
            sender: The running capture's.
            all_of_it: Use the reserve too: the capture closes.
        """
        if self._failed or (self.full and not all_of_it):
            return False
        try:
            if sender.saved != self._next:
                self._start_file(sender.saved)
            self._save_some(sender, sender.unsaved)
        except OSError:
            # What is on flash stays as it is: going on behind a record cut short would spoil it.
            self.full = self._failed = True
            self._forget_handles()
            return False
        return True

    def read(self, number: int):
        """Return a saved record of the running capture, or None."""
        if self._reader is None:
            self._reader = _reader(self._path("cap"), self._path("tail"))
        return self._reader.read(number)

    def let_go(self) -> None:
        """Let go of what reading needs: a signature needs the room; a later read loads it anew."""
        self._close_reader()
        forget("rockboard.spool_reader")

    def end(self) -> None:
        """Let go of the running capture; its files stay."""
        self._forget_handles()
        self._nonce = None

    def all_taken(self) -> None:
        """Say that a host has the whole running capture on its disk."""
        if self._nonce is not None:
            self._forget_handles()
            self._mark(self._number)

    def _start_file(self, number: int) -> None:
        # What may stand in the files is on a host's disk: everything before `number`.
        self._forget_handles()
        for ending in ("tail", "cap"):
            try:
                os.remove(self._path(ending))
            except OSError:
                pass  # it was not there
        self._file = open(self._path("cap"), "wb")
        self._file.write(spool_form.head(self._nonce, number))
        self._file.flush()
        self._tail = bytearray()
        self._next = self._moved = number

    def _save_some(self, sender, count: int) -> None:
        """Write so many records: into the tail if they fit there, else all at once to the file.

        Meanwhile more may come: an erase lets the board take readings. They are for the next time.
        """
        if not count:
            return
        size = sum([1 + len(sender.peek(ahead)) for ahead in range(count)])
        if len(self._tail) + size <= TAIL_MOST:
            self._write_tail(sender, count)
        else:
            self._move_tail(sender, count, size)
        self._next += count
        sender.mark_saved(count)

    def _write_tail(self, sender, count: int) -> None:
        for ahead in range(count):
            packet = sender.peek(ahead)
            self._tail.append(len(packet))
            self._tail += packet
        with open(self._path("tail"), "wb") as file:
            file.write(spool_form.head(self._nonce, self._moved))
            file.write(self._tail)

    def _move_tail(self, sender, count: int, size: int) -> None:
        if self._file is None:
            self._file = open(self._path("cap"), "ab")
        self._file.write(self._tail)
        for ahead in range(count):
            packet = sender.peek(ahead)
            self._file.write(bytes((len(packet),)) + packet)
        self._file.flush()
        self._written += len(self._tail) + size
        self._moved = self._next + count
        self._tail = bytearray()
        if self._written >= _LOOK_EVERY:
            self._make_room()

    def _path(self, ending: str) -> str:
        return "%s/%06d.%s" % (self.folder, self._number, ending)

    def _forget_handles(self) -> None:
        if self._file is not None:
            try:
                self._file.close()
            except OSError:
                pass
        self._file = None
        self._close_reader()

    def _close_reader(self) -> None:
        if self._reader is not None:
            self._reader.close()
        self._reader = None

    # --- all captures -----------------------------------------------------------------------

    def numbers(self) -> list:
        """Return the numbers of all captures, the oldest first, the running one too."""
        return sorted({int(name[:6]) for name in self._names()})

    def fetched(self, number: int) -> bool:
        """Say whether a host has a capture."""
        return "%06d.got" % number in self._names()

    def reader(self, number: int):
        """Return a reader of a capture."""
        stem = "%s/%06d." % (self.folder, number)
        return _reader(stem + ("got" if self.fetched(number) else "cap"), stem + "tail")

    def find(self, nonce: bytes):
        """Return the number of the capture with this nonce, or None."""
        for number in self.numbers():
            reader = self.reader(number)
            found = reader.nonce == nonce
            reader.close()
            if found:
                return number
        return None

    def is_running(self, number: int) -> bool:
        """Say whether a capture is the one being written."""
        return self._nonce is not None and number == self._number

    def mark_fetched(self, number: int) -> None:
        """Note that a host has a capture; from now on it may be deleted."""
        if not self.is_running(number):
            self._mark(number)
            self._make_room()

    def free_bytes(self) -> int:
        """Return the free room of the flash."""
        state = os.statvfs(self.folder)
        return state[0] * state[3]

    def size_bytes(self) -> int:
        """Return the size of the flash's file system."""
        state = os.statvfs(self.folder)
        return state[0] * state[2]

    def _mark(self, number: int) -> None:
        stem = "%s/%06d." % (self.folder, number)
        try:
            os.rename(stem + "cap", stem + "got")
        except OSError:
            pass  # nothing of it was ever written, or it is marked already

    def _make_room(self) -> None:
        self._written = 0
        self.full = False
        while self.free_bytes() < RESERVE_BYTES:
            done = [name for name in sorted(self._names()) if name.endswith(".got")]
            if not done:
                self.full = True
                return
            stem = self.folder + "/" + done[0][:6]
            for ending in (".tail", ".got"):  # the mark goes last: it says that this may go
                try:
                    os.remove(stem + ending)
                except OSError:
                    pass  # a capture need not have a tail

    def _names(self) -> list:
        names = os.listdir(self.folder)
        return [name for name in names if name[:6].isdigit() and name[6:7] == "."]


def _reader(path: str, tail_path: str):
    # Needed only when a host asks for what is on flash; until then its room is for others.
    from .spool_reader import Reader

    return Reader(path, tail_path)

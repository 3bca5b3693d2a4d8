"""A cable that can be pulled: between the board's pseudo-terminal and one that comes and goes."""

import os
import select
import threading
import tty


class Replug(threading.Thread):
    """Carries bytes while it is plugged; each time it is plugged the terminal is another one.

    Args:
        device: The board's terminal.
        path: Where a link to the host's terminal is put, as udev names a port by its board.
        watch: Called with what the board says before it goes on.

    Attributes:
        path: Where the host finds the port; gone while the cable is out.
    """

    def __init__(self, device, path, watch=lambda data: None):
        super().__init__(daemon=True)
        self.path = path
        self._watch = watch
        self._board = os.open(device, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._board)
        self._lock = threading.Lock()
        self._host = self._far = None
        self._ended = threading.Event()

    def plug(self):
        """Make a fresh terminal and name it."""
        with self._lock:
            self._host, self._far = os.openpty()
            tty.setraw(self._far)
            os.set_blocking(self._host, False)
            self.path.symlink_to(os.ttyname(self._far))

    def pull(self):
        """Take the terminal away, with all that is under way in it."""
        with self._lock:
            self.path.unlink()
            os.close(self._host)
            os.close(self._far)
            self._host = self._far = None

    def run(self):
        """Carry bytes until stopped; what the board says while the cable is out is lost."""
        while not self._ended.is_set():
            ends = [self._board] if self._host is None else [self._board, self._host]
            ready, _, _ = select.select(ends, [], [], 0.05)
            ready = self._board in ready
            data = os.read(self._board, 4096) if ready else b""
            self._watch(data)
            with self._lock:
                if self._host is None:
                    continue
                try:
                    if data:
                        os.write(self._host, data)
                    os.write(self._board, os.read(self._host, 4096))
                except BlockingIOError:
                    pass  # nothing there, or nobody takes it

    def __enter__(self):
        self.plug()
        self.start()
        return self

    def __exit__(self, *error):
        self._ended.set()
        self.join()
        for end in (self._board, self._host, self._far):
            if end is not None:
                os.close(end)
        self.path.unlink(missing_ok=True)

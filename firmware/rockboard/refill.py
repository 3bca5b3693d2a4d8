"""A capture from flash on its way to a host."""

from rockwire.sender import Outlet


class Refill(Outlet):
    """Sends the records of one capture.

    Args:
        reader: Of the capture.
        number: The capture's number in the spool.
    """

    def __init__(self, reader, number: int) -> None:
        super().__init__()
        self._reader = reader
        self.number = number
        self._begin(reader.first, reader.count()[0])

    def close(self) -> None:
        """Let go of the file."""
        self._reader.close()

    def _packet(self, number: int):
        return self._reader.read(number)

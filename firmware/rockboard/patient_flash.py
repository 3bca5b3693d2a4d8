"""The flash, seen through a wrapper that lets the board breathe before each erase.

An erase stops the processor for up to 400 ms, and littlefs may ask for several in a row. What came
in meanwhile waits in the hardware's rings, which hold 0.5 s or more; so they are emptied before
every erase, and no more than one erase ever falls between two looks.
"""

_ERASE = 6


class PatientFlash:
    """A block device like the one it wraps.

    Args:
        device: The flash.

    Attributes:
        breathe: Called before each erase.
    """

    def __init__(self, device) -> None:
        self._device = device
        self.readblocks = device.readblocks
        self.writeblocks = device.writeblocks
        self.breathe = _nothing

    def ioctl(self, operation: int, argument: int):
        """Do what the flash does, after a look at the rings."""
        if operation == _ERASE:
            self.breathe()
        return self._device.ioctl(operation, argument)


def _nothing() -> None:
    pass

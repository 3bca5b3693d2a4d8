"""What can go wrong, as a tree:

HardwareError
├ PictureError      a picture says something else than the circuit
├ LayoutError       a part finds no room on the perfboard
├ SimulationError   ngspice is missing, or does not get through
└ SolidError        a printed part is not one watertight body
"""


class HardwareError(Exception):
    """Something is wrong with the hardware's files."""


class PictureError(HardwareError):
    """A picture does not say what the circuit says."""


class LayoutError(HardwareError):
    """The parts do not fit the perfboard."""


class SimulationError(HardwareError):
    """A simulation could not be run, or its outcome is a fault."""


class SolidError(HardwareError):
    """A printed part cannot be printed."""

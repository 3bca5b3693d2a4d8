"""What to set a torque wrench to when something lies between its drive and the nut.

An adapter that makes the lever longer lets the same hand force turn harder than the wrench shows:

    setting = torque · L / (L + E · cos α)

L is the wrench's own lever, from the middle of its drive to the middle of the grip; E the
adapter's length from drive to nut; α the angle between adapter and wrench: 0° straight on, 90° at a
right angle (no change), 180° pointing back over the wrench.

Source: US Navy training manual NAVEDTRA 14315 (adapter in line), US Army TM 9-254 (at an angle),
US Navy NAVEDTRA 14008 (at a right angle, pointing back).
"""

from math import cos, isfinite, radians

from rockhold.errors import OutOfRangeError

LEAST_SHARE = 0.3  # a shorter lever than this of the wrench's own is no job for a torque wrench


def setting(torque: float, lever: float, extension: float, angle_deg: float = 0.0) -> float:
    """Return what the wrench has to be set to so that the nut gets a torque.

    Args:
        torque: Wanted at the nut, above zero; the answer has its unit.
        lever: The wrench's lever, above zero, in any unit of length.
        extension: Length of the adapter, zero or more, in the same unit.
        angle_deg: Between adapter and wrench, 0 to 180 degrees.

    Raises:
        OutOfRangeError: When a value is outside its range.
    """
    _check_torque(torque)
    return torque * lever / lever_to_nut(lever, extension, angle_deg)


def lever_to_nut(lever: float, extension: float, angle_deg: float = 0.0) -> float:
    """Return the length of the lever from the hand to the nut, along the wrench.

    Raises:
        OutOfRangeError: When a value is outside its range, or next to nothing of the lever is left.
    """
    if not (isfinite(lever) and lever > 0):
        raise OutOfRangeError(f"the wrench's lever must be above zero, is {lever}")
    if not (isfinite(extension) and extension >= 0):
        raise OutOfRangeError(
            f"the adapter's length must be zero or more, is {extension}; one that points back "
            "over the wrench has an angle of 180 degrees"
        )
    if not 0 <= angle_deg <= 180:
        raise OutOfRangeError(f"the adapter's angle must be 0 to 180 degrees, is {angle_deg}")
    # cos(90°) is not quite zero in floating point; a right angle changes nothing.
    along = 0.0 if angle_deg == 90 else extension * cos(radians(angle_deg))
    length = lever + along
    if length < LEAST_SHARE * lever:
        raise OutOfRangeError(
            f"the adapter takes away most of the wrench's lever ({length:g} of {lever:g} is "
            "left); turn it the other way"
        )
    return length


def _check_torque(torque: float) -> None:
    if not (isfinite(torque) and torque > 0):
        raise OutOfRangeError(f"a torque must be above zero, is {torque}")

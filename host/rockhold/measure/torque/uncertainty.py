"""The standard uncertainty of a peak torque."""

from math import sqrt

from rockhold.errors import OutOfRangeError
from rockhold.measure.budget import u_rectangular, u_resolution
from rockhold.measure.torque.events import Pull

SMALL_NM = 10.0


def class_mpe_percent(largest_nm: float, fixed_beam: bool = False) -> float:
    """Return the limit of error of a torque tool by its class, in per cent of the reading.

    Args:
        largest_nm: The largest torque that the tool is made for, in N·m.
        fixed_beam: Whether it is a bending beam, a fixed setting or another of the coarser classes.

    Raises:
        OutOfRangeError: When the largest torque is not above zero.

    Source: ISO 6789-1:2017, ±6 % up to 10 N·m and ±4 % above; from memory.
    """
    if not largest_nm > 0:
        raise OutOfRangeError(f"a tool's largest torque must be above zero, is {largest_nm} N·m")
    return 6.0 if fixed_beam or largest_nm <= SMALL_NM else 4.0


def u_peak_nm(pull: Pull, mpe_percent: float, resolution_nm: float | None = None) -> float:
    """Return the standard uncertainty of a pull's peak, in N·m.

    The tool's limit of error counts as rectangular (JCGM 100:2008, 4.3.7), and so does what may
    lie between two readings.

    Args:
        pull: The pull.
        mpe_percent: The tool's limit of error, half width, in per cent of the reading.
        resolution_nm: One step of its digits, in N·m; None where it is not known.

    Raises:
        OutOfRangeError: When a limit is negative, or the resolution not above zero.
    """
    if not mpe_percent >= 0:
        raise OutOfRangeError(f"a limit of error must not be negative, is {mpe_percent} %")
    parts = [u_rectangular(mpe_percent / 100 * pull.peak_nm), u_rectangular(pull.hidden_nm)]
    if resolution_nm is not None:
        parts.append(u_resolution(resolution_nm))
    return sqrt(sum(part**2 for part in parts))

"""Why a serial port does not open, in a sentence that says what to do."""

import errno
import os
import stat
from difflib import get_close_matches
from pathlib import Path

try:
    import grp
except ImportError:  # Windows has no such groups
    grp = None  # type: ignore[assignment]

_OF_GROUP = stat.S_IRGRP | stat.S_IWGRP


def why_not(device: str, error: Exception) -> str:
    """Return what a refusal to open a port means, told by its kind."""
    number = error.errno if isinstance(error, OSError) else None
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO):
        near = get_close_matches(device, _neighbours(device), n=1, cutoff=0.8)
        meant = f"Did you mean {near[0]}? Else plug" if near else "Plug"
        return (
            f"there is no port {device}. {meant} the board in; `rockhold boards` lists what is "
            "there"
        )
    if number in (errno.EACCES, errno.EPERM) and not os.access(device, os.R_OK | os.W_OK):
        return f"you may not open {device}. {_how_to_be_let_in(device)}"
    if number == errno.EISDIR or "configure" in str(error):  # pyserial hides the number: no modes
        place = Path(device)
        what = "a folder" if place.is_dir() else "a file" if place.is_file() else "another device"
        return (
            f"{device} is {what}, no serial port. `rockhold boards` lists the ports that are here"
        )
    if number in (errno.EAGAIN, errno.EWOULDBLOCK, errno.EBUSY, errno.EACCES) or "lock" in str(
        error
    ):
        return (
            f"{device} is in use by another program: a rockhold in another terminal, or one that "
            "listens to serial ports. Close it, then try again"
        )
    why = os.strerror(number) if number else str(error)
    return (
        f"{device} does not open as a serial port ({why}). `rockhold boards` lists the ports that "
        "are here"
    )


def _neighbours(device: str) -> list[str]:
    """Return what stands in a port's folder, written as the port was."""
    if device.startswith("/dev/pts/"):
        return []  # the terminals of other windows
    try:
        return [str(place) for place in Path(device).parent.iterdir()]
    except (OSError, ValueError):
        return []


def _how_to_be_let_in(device: str) -> str:
    """Say how a person gets leave to open a port that is there."""
    status = Path(device).stat()
    if grp is None or status.st_mode & _OF_GROUP != _OF_GROUP or status.st_gid in os.getgroups():
        return "Only its owner may; ask whoever looks after this computer"
    group = grp.getgrgid(status.st_gid)
    if os.environ.get("USER") in group.gr_mem:
        return f"You have been put into its group {group.gr_name}, but must log out and in first"
    return (
        f"Its group, {group.gr_name}, may: `sudo usermod -aG {group.gr_name} $USER`, then log out "
        "and in again"
    )

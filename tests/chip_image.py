"""What a file of a MicroPython image is for, by the UF2 format's own words.

Source: the UF2 file format specification and its list of families (github.com/microsoft/uf2).
"""

import struct
from pathlib import Path

_MAGIC = (0x0A324655, 0x9E5D5157)
_RP2040 = 0xE48BFF56
_FAMILIES = {
    0xE48BFF59: "RP2350",
    0xE48BFF5A: "RP2350 (RISC-V)",
    0xE48BFF5B: "RP2350 (non-secure)",
    0xE48BFF57: "RP2350 or a part of the flash (absolute)",
    0xC47E5767: "ESP32-S3",
}
_BLOCK = 512


def families_of(path: Path) -> set[int]:
    """Return the families of a UF2 file's blocks; none where it is no UF2 file."""
    data = path.read_bytes()
    found = set()
    for at in range(0, len(data) - _BLOCK + 1, _BLOCK):
        first, second, flags = struct.unpack_from("<III", data, at)
        if (first, second) != _MAGIC:
            return set()
        if flags & 0x2000:
            found.add(struct.unpack_from("<I", data, at + 28)[0])
    return found


def why_not(name: str) -> str:
    """Return why an image cannot be tried in the emulator, "" where it can."""
    if not name:
        return "no MicroPython image given; run `make test-chip ROCKHOLD_UF2=image.uf2`"
    path = Path(name)
    if not path.is_file():
        return f"there is no file {name}"
    found = families_of(path)
    if _RP2040 in found:
        return ""
    if not found:
        return f"{name} is no UF2 image with a family; the emulator takes UF2 images for RP2040"
    chips = ", ".join(_FAMILIES.get(family, f"family {family:08x}") for family in sorted(found))
    return f"{name} is for {chips}; the emulator knows RP2040 only"

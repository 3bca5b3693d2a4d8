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


def families_of(data: bytes) -> set[int]:
    """Return the families of a UF2 file's blocks; none where it is no UF2 file."""
    found = set()
    for at in range(0, len(data) - _BLOCK + 1, _BLOCK):
        first, second, flags = struct.unpack_from("<III", data, at)
        if (first, second) != _MAGIC:
            return set()
        if flags & 0x2000:
            found.add(struct.unpack_from("<I", data, at + 28)[0])
    return found


def payload_of(data: bytes) -> bytes:
    """Return what a UF2 file puts into the flash: 256 bytes of each block of 512."""
    return b"".join(data[at + 32 : at + 288] for at in range(0, len(data), _BLOCK))


def missing_of(data: bytes) -> str:
    """Say what is missing of a UF2 file; "" where it is whole."""
    announced = max(
        struct.unpack_from("<I", data, at + 24)[0]
        for at in range(0, len(data) - _BLOCK + 1, _BLOCK)
    )
    there = len(data) // _BLOCK
    if there < announced or len(data) % _BLOCK:
        return f"is cut short: {there} of {announced} blocks are there; get it anew"
    return ""


def why_not(name: str) -> str:
    """Return why an image cannot be tried in the emulator, "" where it can."""
    if not name:
        return "no MicroPython image given; run `make test-chip ROCKHOLD_UF2=image.uf2`"
    path = Path(name)
    if not path.is_file():
        return f"there is no file {name}"
    data = path.read_bytes()
    found = families_of(data)
    if _RP2040 in found:
        missing = missing_of(data)
        if missing:
            return f"{name} {missing}"
        if b"MicroPython" not in payload_of(data):
            return f"{name} is for RP2040, but there is no MicroPython in it"
        return ""
    if not found:
        return f"{name} is no UF2 image with a family; the emulator takes UF2 images for RP2040"
    chips = ", ".join(_FAMILIES.get(family, f"family {family:08x}") for family in sorted(found))
    return f"{name} is for {chips}; the emulator knows RP2040 only"

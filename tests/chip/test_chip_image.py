"""Images that the emulator cannot run are left out with a sentence."""

import re
import struct

import pytest

from chip_image import why_not


def uf2(*families, announced=1, text=b"MicroPython v1.28.0"):
    """A UF2 file of one block for each family, laid out as its specification says."""
    head = [
        struct.pack("<8I", 0x0A324655, 0x9E5D5157, 0x2000, 0, 256, 0, announced, family)
        for family in families
    ]
    return b"".join(h + text.ljust(476, b"\0") + struct.pack("<I", 0x0AB16F30) for h in head)


# A text that lies across two blocks' 256 bytes of payload is found, too.
SPLIT = uf2(0xE48BFF56, text=bytes(250) + b"MicroP") + uf2(0xE48BFF56, text=b"ython")


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (uf2(0xE48BFF56), ""),
        (SPLIT, ""),
        (uf2(0xE48BFF56, announced=3), "is cut short: 1 of 3 blocks are there"),
        (uf2(0xE48BFF56)[:-100] * 2, "is no UF2 image|is cut short"),
        (uf2(0xE48BFF56) + bytes(77), "is cut short"),
        (uf2(0xE48BFF56, text=b"blink"), "is for RP2040, but there is no MicroPython in it"),
        (uf2(0xE48BFF57, 0xE48BFF59), "is for RP2350 or .*, RP2350; the emulator knows RP2040"),
        (uf2(0xC47E5767), "is for ESP32-S3; "),
        (uf2(0x12345678), "is for family 12345678; "),
        (b"\xe9\x06 an image for esptool" * 100, "is no UF2 image"),
        (b"", "is no UF2 image"),
    ],
)
def test_what_an_image_is_for(tmp_path, data, sentence):
    path = tmp_path / "image"
    path.write_bytes(data)
    said = why_not(str(path))
    assert bool(said) == bool(sentence)
    assert re.search(sentence, said)


def test_no_image_and_no_file(tmp_path):
    assert "no MicroPython image given" in why_not("")
    assert "there is no file" in why_not(str(tmp_path / "none"))

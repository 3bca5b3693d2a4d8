"""Images that the emulator cannot run are left out with a sentence."""

import re
import struct

import pytest

from chip_image import why_not


def uf2(*families):
    """A UF2 file of one block for each family, laid out as its specification says."""
    head = [struct.pack("<8I", 0x0A324655, 0x9E5D5157, 0x2000, 0, 256, 0, 1, f) for f in families]
    return b"".join(h + bytes(476) + struct.pack("<I", 0x0AB16F30) for h in head)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (uf2(0xE48BFF56), ""),
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

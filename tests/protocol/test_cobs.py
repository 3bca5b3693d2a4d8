import pytest
from cobs import cobs as reference
from hypothesis import given
from hypothesis import strategies as st

from rockwire import cobs
from rockwire.errors import FrameError

RUN_254 = bytes(range(1, 255))
RUN_255 = bytes(range(1, 256))

# S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Trans. Networking 7 (1999)
# 159: the examples and the limits of a full block (from memory, recomputed with PyPI `cobs`).
EXAMPLES = [
    ("00", "0101"),
    ("0000", "010101"),
    ("001100", "01021101"),
    ("11220033", "0311220233"),
    ("11223344", "0511223344"),
    ("11000000", "0211010101"),
    (RUN_254.hex(), "ff" + RUN_254.hex()),
    ("00" + RUN_254.hex(), "01ff" + RUN_254.hex()),
    (RUN_255.hex(), "ff" + RUN_254.hex() + "02ff"),
    (RUN_255[1:].hex() + "00", "ff" + RUN_255[1:].hex() + "0101"),
    (RUN_255[2:].hex() + "0001", "fe" + RUN_255[2:].hex() + "0201"),
]


@pytest.mark.parametrize(("plain", "stuffed"), EXAMPLES)
def test_published_examples(plain, stuffed):
    assert cobs.encode(bytes.fromhex(plain)).hex() == stuffed
    assert cobs.decode(bytes.fromhex(stuffed)).hex() == plain


@given(st.lists(st.sampled_from([0, 0, 1, 255]), max_size=600) | st.binary(max_size=600))
def test_equals_reference_and_comes_back(values):
    data = bytes(values)
    stuffed = cobs.encode(data)
    assert stuffed == reference.encode(data)
    assert 0 not in stuffed
    assert cobs.decode(stuffed) == data


@pytest.mark.parametrize("length", [*range(250, 260), *range(504, 514)])
def test_around_full_blocks(length):
    for data in (b"\x01" * length, b"\x01" * length + b"\0", b"\0" + b"\x01" * length):
        assert cobs.encode(data) == reference.encode(data)


@given(st.binary(max_size=40))
def test_any_bytes_decode_or_are_refused_as_the_reference_does(data):
    try:
        expected = reference.decode(data)
    except reference.DecodeError:
        with pytest.raises(FrameError) as caught:
            cobs.decode(data)
        assert caught.value.reason == "cobs"
    else:
        assert cobs.decode(data) == expected


@pytest.mark.parametrize(
    ("stuffed", "at"), [("00", 0), ("0311", 0), ("0511220044", 3), ("0200", 1)]
)
def test_a_refusal_says_where(stuffed, at):
    with pytest.raises(FrameError) as caught:
        cobs.decode(bytes.fromhex(stuffed))
    assert (caught.value.reason, caught.value.offset) == ("cobs", at)

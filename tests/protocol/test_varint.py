import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockwire import varint
from rockwire.errors import FrameError


@given(st.integers(-(1 << 63), (1 << 63) - 1), st.binary(max_size=3))
def test_comes_back_whatever_follows(value, tail):
    out = bytearray()
    varint.put(out, value)
    assert varint.get(bytes(out) + tail, 0) == (value, len(out))


@pytest.mark.parametrize(
    ("value", "coded"), [(0, "00"), (-1, "01"), (1, "02"), (-64, "7f"), (64, "8001"), (150, "ac02")]
)
def test_folding_and_sevens(value, coded):
    # The two rules (fold the sign, seven bits a byte) are those of the Protocol Buffers encoding
    # guide, whose example says that 300 is ac 02; folded, that is our 150.
    out = bytearray()
    varint.put(out, value)
    assert out.hex() == coded


@pytest.mark.parametrize("coded", ["", "80", "ff" * 10, "ff" * 11 + "00"])
def test_cut_or_endless(coded):
    with pytest.raises(FrameError) as caught:
        varint.get(bytes.fromhex(coded), 0)
    assert caught.value.reason == "varint"


@pytest.mark.parametrize("at", [0, 2])
def test_a_refusal_says_where_the_number_began(at):
    with pytest.raises(FrameError) as caught:
        varint.get(b"\x00" * at + b"\x80", at)
    assert caught.value.offset == at


def test_ten_bytes_are_read_and_eleven_are_not():
    # protocol/README.md, 1.2: at most 10 bytes.
    assert varint.get(b"\xff" * 9 + b"\x01", 0) == (-(1 << 63), 10)
    with pytest.raises(FrameError):
        varint.get(b"\xff" * 10 + b"\x01", 0)

import hashlib

from hypothesis import given
from hypothesis import strategies as st

from rockwire.chain import Chain, seal_text

NONCE = bytes(range(16))


def test_is_what_the_specification_says():
    # protocol/README.md, part 2, computed here with hashlib alone.
    head = hashlib.sha256(b"rockhold chain 1" + NONCE).digest()
    chain = Chain(NONCE)
    assert chain.head == head
    for body in (b"one", b"two"):
        head = hashlib.sha256(head + body).digest()
        assert chain.extend(body) == head[:4]
    assert seal_text(NONCE, chain) == b"rockhold board seal 1" + NONCE + head + b"\2\0\0\0"


@given(st.lists(st.binary(min_size=1, max_size=8), min_size=2, max_size=6, unique=True), st.data())
def test_order_omission_repetition_and_nonce_all_show(bodies, data):
    def head(rows, nonce=NONCE):
        chain = Chain(nonce)
        for row in rows:
            chain.extend(row)
        return chain.head

    at = data.draw(st.integers(0, len(bodies) - 2))
    swapped = [*bodies[:at], bodies[at + 1], bodies[at], *bodies[at + 2 :]]
    assert len({head(x) for x in (bodies, swapped, bodies[:-1], [*bodies, bodies[-1]])}) == 4
    assert head(bodies) != head(bodies, bytes(16))


def test_preview_takes_nothing():
    chain = Chain(NONCE)
    before = chain.head
    assert chain.preview(b"x")[:4] == chain.extend(b"x") != before[:4]
    assert chain.count == 1

import pytest

from rockhold.capture.packets import unpacked
from rockwire import frames
from rockwire import messages as m
from rockwire.errors import FrameError


def test_a_packet_is_decoded_once_and_damage_is_told_every_time():
    packet = frames.pack(m.Hello(7))
    assert unpacked(packet) == frames.unpack(packet)
    assert unpacked(packet) is unpacked(bytes(packet))
    for _ in range(2):
        with pytest.raises(FrameError):
            unpacked(packet[:-1])

"""Decode every vector of protocol/vectors/frames and print what came out, in three ways of feeding.

    python run_frame_vectors.py PROTOCOL_FOLDER

Runs on CPython and on MicroPython; what they print must be the same.
"""

import os
import sys

folder = sys.argv[1]
sys.path.insert(0, folder)

from rockwire.decoder import Decoder, Rejected  # noqa: E402


def describe(value):
    """Return text that is the same on both interpreters."""
    if isinstance(value, (bytes, bytearray)):
        return bytes(value).hex() or "-"
    if isinstance(value, tuple):
        return "(" + " ".join([describe(part) for part in value]) + ")"
    return str(value)


def told(event):
    """Return one line about an event."""
    if isinstance(event, Rejected):
        return "rejected " + event.reason + " " + str(event.skipped)
    if event.message is None:
        return "unknown %02x %s" % (event.type, event.number)
    name = type(event.message).__name__
    return "%02x %s %s %s" % (event.type, event.number, name, describe(tuple(event.message)))


def pieces(data, way):
    """Cut the data: whole, byte by byte, or in threes."""
    size = (len(data), 1, 3)[way]
    return [data[at : at + size] for at in range(0, len(data), size)]


def main():
    """Print every vector's events."""
    vectors = folder + "/vectors/frames/"
    for name in sorted(os.listdir(vectors)):
        with open(vectors + name) as file:
            text = file.read().split("\n")
        data = bytes.fromhex([row for row in text if row.startswith("line: ")][0][6:])
        for way in range(3):
            decoder = Decoder()
            for piece in pieces(data, way):
                for event in decoder.feed(piece):
                    print(name, way, told(event))


main()

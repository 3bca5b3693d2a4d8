"""Write protocol/vectors/frames from the specification, with libraries that are not ours.

    .venv/bin/python tests/protocol/make_frame_vectors.py

COBS comes from the PyPI package `cobs`, the CRC from `crccheck`, the layout from `struct` by hand
after protocol/README.md; nothing of rockwire is imported.
"""

import hashlib
import hmac
import struct
from pathlib import Path

from cobs import cobs
from crccheck.crc import Crc16Ibm3740

FOLDER = Path(__file__).parents[2] / "protocol" / "vectors" / "frames"
NONCE = bytes(range(16))
READINGS = b"\x00" + b"\x02\x05\xfc" + b"\x03" + struct.pack("<QI", 1_000_000, 71_905)


def line(body: bytes) -> bytes:
    return cobs.encode(body + struct.pack("<H", Crc16Ibm3740.calc(body))) + b"\0"


def plain(kind: int, payload: bytes) -> bytes:
    return line(bytes((1, kind)) + payload)


def records(*rows: tuple[int, bytes]) -> bytes:
    head = hashlib.sha256(b"rockhold chain 1" + NONCE).digest()
    out = b""
    for number, (kind, payload) in enumerate(rows):
        body = struct.pack("<BBI", 1, kind, number) + payload
        head = hashlib.sha256(head + body).digest()
        out += line(body + head[:4])
    return out


def name(text: str) -> bytes:
    return bytes((len(text.encode()),)) + text.encode()


GUARDED_STOP = struct.pack("<QBH", 1_790_000_000_000_000, 0x03, 9)
HELLO = plain(0x01, struct.pack("<H", 7))
OPEN = (0x80, NONCE + bytes(8) + struct.pack("<QQ3sB", 5, 1_790_000_000_000_000, b"\0\1\0", 0))

VECTORS: dict[str, tuple[str, bytes]] = {
    "hello": ("Hello, request 7", HELLO),
    "start": ("Start with a nonce", plain(0x02, struct.pack("<H16sQ", 8, NONCE, 1 << 50))),
    "stop": ("Stop", plain(0x03, struct.pack("<H", 0xFFFF))),
    "ack": ("Ack has no request", plain(0x04, NONCE[:4] + struct.pack("<I", 300))),
    "resume": ("Resume", plain(0x05, struct.pack("<H16sI", 9, NONCE, 0))),
    "clock": ("Clock", plain(0x06, struct.pack("<HQ", 10, 123_456_789))),
    "button": ("Button that only tells", plain(0x09, struct.pack("<HB", 12, 1))),
    "status": ("Status", plain(0x07, struct.pack("<H", 11))),
    "guarded": (
        "Stop inside Guarded, with the MAC of a key of 32 bytes 0x42 and board id boardid8",
        plain(
            0x08,
            GUARDED_STOP
            + hmac.new(
                b"B" * 32, b"rockhold command 1" + b"boardid8" + GUARDED_STOP, hashlib.sha256
            ).digest()[:16],
        ),
    ),
    "guarded-short": ("Guarded with a byte too few for counter, type and mac", plain(8, bytes(24))),
    "stale": ("Stale", plain(0x48, struct.pack("<HQ", 9, 1 << 50))),
    "ident": (
        "Ident with a name outside ASCII",
        plain(
            0x41,
            struct.pack("<HB3s8s32sB16sI", 7, 1, b"\0\1\0", b"\1" * 8, bytes(32), 1, NONCE, 44)
            + name("Böck 2"),
        ),
    ),
    "done": ("Done: busy", plain(0x42, struct.pack("<HB", 8, 1))),
    "clock-reply": ("ClockReply", plain(0x46, struct.pack("<HQQ", 10, 123_456_789, 1 << 40))),
    "status-reply": (
        "StatusReply",
        plain(0x47, struct.pack("<HBQIIIHI", 11, 1, 99, 5, 2, 0, 3_700, 24_000)),
    ),
    "captures": ("Captures: the third", plain(0x10, struct.pack("<HH", 12, 2))),
    "put-settings": (
        "PutSettings: a whole short text",
        plain(0x12, struct.pack("<HHH", 13, 13, 0) + b"\x0d" + b'{"name":"b3"}'),
    ),
    "capture-reply": (
        "CaptureReply: sealed, waiting",
        plain(0x50, struct.pack("<HHH16sIIB", 12, 3, 2, NONCE, 0, 812, 6)),
    ),
    "told": ("Told: a sentence", plain(0x52, struct.pack("<HB", 13, 6) + b"\x08name: no")),
    "probe-reply": (
        "ProbeReply: an indicator at 13.9 readings a second",
        plain(
            0x53,
            struct.pack("<HBBIIIIiBBb", 14, 0, 0, 500, 31, 71_943, 2, -25, 2, 5, -4)
            + name("indicator"),
        ),
    ),
    "health-reply": (
        "HealthReply: nothing wrong",
        plain(
            0x54,
            struct.pack("<HBIIIIHHBH", 15, 0, 90_000, 60_000, 868_352, 500_000, 2, 7, 1, 0) + b"\0",
        ),
    ),
    "holds-reply": (
        "HoldsReply: the newest of four holds",
        plain(
            0x55, struct.pack("<HBBbiiBBQQii", 16, 2, 5, -4, -3, 9, 4, 0, 7 << 20, 8 << 20, 6, 7)
        ),
    ),
    "data-too-long": ("data longer than the payload", plain(0x52, b"\x0d\0\0\x05abc")),
    "capture": (
        "a whole short capture: every kind of record, numbered and chained",
        records(
            OPEN,
            (0x81, b"\x00\x00" + name("indicator")),
            # counts 5, 6, -7; the second reading 5 µs early, the third 15 µs late
            (0x82, READINGS + b"\x0a" + b"\x09\x02" + b"\x1e\x19"),
            (0x83, struct.pack("<BBQq", 6, 0, 1_200_000, 12)),
            (0x84, struct.pack("<BIQQ", 0, 3, 1_300_000, 1_450_000)),
            (0x85, struct.pack("<BBBbiQiQI", 0, 2, 5, -4, -7, 1_143_825, 6, 1_071_900, 3)),
            (0x86, struct.pack("<QB", 2_000_000, 1)),
            (0x87, bytes(range(32)) + bytes(64)),
        ),
    ),
    "readings-wide": (
        "counts and times that need the longest varints",
        records(
            OPEN,
            (
                0x82,
                b"\x01\x01\x01\xfe\x02"
                + struct.pack("<QI", (1 << 60), 0)
                + b"\xff\xff\xff\xff\x0f"  # -2147483648
                + b"\x80\x80\x80\x80\x20"  # 2^32 µs later
                + b"\xfe\xff\xff\xff\x1f",  # up by 4294967295 to 2147483647
            ),
        ),
    ),
    "unknown-record": ("a record of a type from the future", records(OPEN, (0xBF, b"whatever"))),
    "unknown-command": ("a command of a type from the future", plain(0x3F, b"whatever")),
    "rubbish-before": ("a delimiter first keeps rubbish apart", b"MPY: soft reboot\r\n\0" + HELLO),
    "rubbish-joined": ("rubbish that runs into a frame costs that frame", b"xyz" + HELLO + HELLO),
    "merged": ("a lost delimiter merges two frames; the third is good", HELLO[:-1] + HELLO + HELLO),
    "cut": ("a frame cut short, then a good one", HELLO[:4] + b"\0" + HELLO),
    "crc-wrong": ("one bit of the payload turned", HELLO[:2] + b"\x03" + HELLO[3:]),
    "version-2": ("another version of the protocol", line(b"\x02\x01\x07\x00")),
    "too-short": ("two bytes are no packet", cobs.encode(b"\x01\x01") + b"\0"),
    "too-long": ("longer than any frame, then a good one", b"\x55" * 500 + b"\0" + HELLO),
    "longest": (
        "the longest record there can be: 182 bytes on the line",
        records(OPEN, (0xBE, b"\xaa" * 168)),
    ),
    "payload-short": ("a Start whose payload is one byte short", plain(0x02, bytes(25))),
    "payload-name": ("a name longer than the payload", plain(0x41, bytes(67) + b"\x09abc")),
    "payload-not-utf8": ("a name that is not UTF-8", plain(0x41, bytes(67) + b"\x02\xc3\x28")),
    "readings-none": ("a batch of no readings", records(OPEN, (0x82, READINGS[:4] + bytes(14)))),
    "readings-left-over": (
        "a batch with bytes behind its last reading",
        records(OPEN, (0x82, READINGS + b"\x0a" + b"\x09\x02" + b"\x1e\x19" + b"\x00")),
    ),
    "varint-endless": (
        "a varint that never ends",
        records(OPEN, (0x82, READINGS[:4] + b"\x01" + READINGS[5:] + b"\xff" * 11)),
    ),
    "empty": ("delimiters alone are nothing", b"\0\0\0"),
}


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for key, (comment, data) in VECTORS.items():
        path = FOLDER / f"{key}.txt"
        expect = []
        if path.exists():
            expect = [
                x for x in path.read_text(encoding="utf-8").splitlines() if x[:7] == "expect:"
            ]
        rows = [f"comment: {comment}", *expect, f"line: {data.hex()}"]
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

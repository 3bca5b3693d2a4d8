"""Write protocol/vectors/<source> for the sources that no recording exists of.

    .venv/bin/python tests/firmware/make_source_vectors.py

Words, lines and register dumps are put together here from the sources' descriptions, by hand and
with nothing of rockboard; what must come out is written beside each.
"""

import json
import struct
from pathlib import Path

VECTORS = Path(__file__).parents[2] / "protocol" / "vectors"


def bcd52_edges(t_us: int, digits: str, low_us: int = 100, high_us: int = 100) -> str:
    """Edges of a word: digits in hexadecimal, d1 first, each least significant bit first."""
    out = []
    for digit in digits:
        for bit in range(4):
            data = int(digit, 16) >> bit & 1
            # The data line is set up before the clock falls and held until after.
            out += [f"{t_us}:{data}", f"{t_us + low_us}:{data | 2}"]
            t_us += low_us + high_us
    return "edges: " + " ".join(out)


BCD52 = {
    # F F F F 8 0 0 0 0 2 5 4 1 is -0.0025 in (from memory of the frame's description).
    "minus-0.0025in": (
        "-0.0025 in",
        {},
        [bcd52_edges(5_000, "FFFF8000025" + "41")],
        ["reading 5000 -25 in 1 -4"],
    ),
    "12.345mm": (
        "12.345 mm, twice",
        {},
        [bcd52_edges(5_000, "FFFF001234530"), bcd52_edges(120_000, "FFFF001234530", 5, 7)],
        ["reading 5000 12345 mm 1 -3", "reading 120000 12345 mm 1 -3"],
    ),
    "largest": (
        "999999 mm without a point",
        {},
        [bcd52_edges(5_000, "FFFF899999900")],
        ["reading 5000 -999999 mm 1 0"],
    ),
    "digit-over-nine": (
        "a digit of eleven is no digit",
        {},
        [bcd52_edges(5_000, "FFFF0000B2530")],
        ["event word_unknown"],
    ),
    "short": (
        "51 bits",
        {},
        [bcd52_edges(5_000, "FFFF001234530").rsplit(" ", 2)[0]],
        ["event frame_cut"],
    ),
    "two-words": (
        "a word heard from its middle costs that word only",
        {},
        [bcd52_edges(5_000, "01234530"), bcd52_edges(120_000, "FFFF001234530")],
        ["event frame_cut", "reading 120000 12345 mm 1 -3"],
    ),
}


def text(t_us: int, data: str, byte_us: int = 1_042) -> str:
    return f"bytes: {t_us} {byte_us} {data.encode('latin-1').hex()}"


ASCII = {
    "plain": (
        "sign, digits, point, CR",
        {"unit": "mm"},
        [text(50_000, "+0.012\r-12.3\r")],
        ["reading 50000 12 mm 1 -3", "reading 57294 -12300 mm 1 -3"],
    ),
    "crlf-unit": (
        "a unit and CR LF",
        {},
        [text(50_000, "  12.50 Nm\r\n  9.75 Nm\r\n")],
        ["reading 50000 1250 N·m 1 -2", "reading 62504 975 N·m 1 -2"],
    ),
    "feet": (
        "the same unit under two names",
        {},
        [text(50_000, "50 ft-lb\n51 lbf.ft\n")],
        ["reading 50000 50 lbf·ft 1 0", "reading 59378 51 lbf·ft 1 0"],
    ),
    "comma": (
        "a decimal comma",
        {"unit": "in"},
        [text(50_000, "-0,0005\n")],
        ["reading 50000 -5 in 1 -4"],
    ),
    "pattern": (
        "text before and after",
        {"pattern": "P{text}T:{value} {unit} {text}"},
        [text(50_000, "P07 T: 100.5Nm OK 3\r\n")],
        ["reading 50000 1005 N·m 1 -1"],
    ),
    "prefix": (
        "an address before the value",
        {"pattern": "01A{value}", "unit": "mm"},
        [text(50_000, "01A+000.01\r02A+000.02\r")],
        ["reading 50000 1 mm 1 -2", "event word_unknown"],
    ),
    "over-range": (
        "the instrument is at its end",
        {"over_range": "OL", "unit": "Nm"},
        [text(50_000, "OL\r\n12\r\n")],
        ["event over_range", "reading 54168 12 N·m 1 0"],
    ),
    "rubbish": (
        "no number, two points, a strange unit, too long",
        {},
        [text(50_000, "hello\r1.2.3\r12 apples\r" + "7" * 100 + "\r5\r")],
        ["event word_unknown"] * 3 + ["event frame_cut", "reading 178166 5 1 1 0"],
    ),
    "from-the-middle": (
        "what stands before the first line end may be the rest of a line",
        {},
        [text(1_000, "23.4\r56.7\r")],
        ["event frame_cut", "reading 6210 567 1 1 -1"],
    ),
    "cut": (
        "a line cut short by a rest, then a whole one",
        {},
        [text(50_000, "12."), text(150_000, "34\n")],
        ["event frame_cut", "reading 150000 34 1 1 0"],
    ),
    "damaged": (
        "a byte that the UART found damaged costs its line",
        {},
        [text(50_000, "12"), "damaged: 52084", text(53_126, "4\n56\n")],
        ["event frame_cut", "reading 55210 56 1 1 0"],
    ),
}

# One converter step at gain 128 is 2**-31 V/V: 2**20 steps are 488.28125 µV/V.
BRIDGE = {
    "uncalibrated": (
        "0, 2**20, -2**20 and the smallest step",
        {},
        ["words: 1000:5 13500:000000 26000:100000 38500:F00000 51000:000001"],
        [
            "reading 13500 0 µV/V 1 -4",
            "reading 26000 4882813 µV/V 1 -4",
            "reading 38500 -4882813 µV/V 1 -4",
            "reading 51000 5 µV/V 1 -4",
        ],
    ),
    "gain-64": (
        "half the gain, twice the µV/V",
        {"gain": 64},
        ["words: 0:0 1000:100000"],
        ["reading 1000 9765625 µV/V 1 -4"],
    ),
    "calibrated": (
        "100.00 N·m are 500000 steps above 1234",
        {"unit": "Nm", "zero": 1234, "span": [10000, 500000]},
        ["words: 0:0 1000:0004D2 2000:07A5F2 3000:07A624 4000:0004A0"],
        [
            "reading 1000 0 N·m 1 -2",
            "reading 2000 10000 N·m 1 -2",
            "reading 3000 10001 N·m 1 -2",
            "reading 4000 -1 N·m 1 -2",
        ],
    ),
    "upside-down": (
        "wired the other way round",
        {"unit": "Nm", "span": [100, -1000]},
        ["words: 0:0 1000:FFFC18 2000:000005"],
        ["reading 1000 100 N·m 1 -2", "reading 2000 -1 N·m 1 -2"],
    ),
    "over-range": (
        "both ends",
        {},
        ["words: 0:0 1000:7FFFFF 2000:800000 3000:000000"],
        ["event over_range", "event over_range", "reading 3000 0 µV/V 1 -4"],
    ),
}


def samples(order: str, *rows: tuple[int, ...]) -> str:
    return b"".join(struct.pack(order + "hhhhhh", *row) for row in rows).hex()


def turn_and_knock(now_us: int, behind: int, k: int) -> list[str]:
    t_us = now_us - 10_000 * behind
    return [f"turn {t_us} 1000"] + ([f"knock {t_us} 0"] if k % 10 == 9 else [])


# Turning at 10 °/s is 655 counts of 65.5 a °/s, and 571 of 17.5 mdeg/s. 1 g is 2048 and 2049.
# The first queue is read 40 ms after the start, its newest sample at that very time.
MOTION = {
    "mpu6050-turn": (
        "10 °/s about z, 1 g along z",
        {"part": "mpu6050"},
        ["queue: " + samples(">", *[(0, 0, 2048, 0, 0, 655)] * 10)],
        ["turn " + str(40_000 - 10_000 * k) + " 1000" for k in (8, 6, 4, 2, 0)] + ["knock 40000 0"],
    ),
    "mpu6050-knock": (
        "a step of 2 g for one sample along x, turning back",
        {"part": "mpu6050", "axis": "x"},
        [
            "queue: "
            + samples(
                ">",
                *[(0, 0, 2048, -655, 0, 0)] * 4,
                (4096, 0, 2048, -655, 0, 0),
                *[(0, 0, 2048, -655, 0, 0)] * 5,
            )
        ],
        ["turn " + str(40_000 - 10_000 * k) + " -1000" for k in (8, 6, 4, 2, 0)]
        + ["knock 40000 2000"],
    ),
    "lsm6ds3-turn": (
        "10 °/s about y",
        {"part": "lsm6ds3", "address": 106, "axis": "y"},
        ["queue: " + samples("<", *[(0, 571, 0, 0, 0, 2049)] * 4)],
        ["turn 20770 999", "turn 40000 999"],
    ),
    "long-queue": (
        "100 samples wait after a stall: their times go on, though 90 are read at once",
        {"part": "mpu6050"},
        ["queue: 2000000 " + samples(">", *[(0, 0, 2048, 0, 0, 655)] * 100)],
        [row for k in range(1, 90, 2) for row in turn_and_knock(2_000_000, 99 - k, k)]
        + [row for k in range(1, 10, 2) for row in turn_and_knock(2_960_001, 9 - k, k)],
    ),
    "stranger": (
        "another part answers at the address: nothing is read",
        {"part": "mpu6050"},
        ["who: 51", "queue: " + samples(">", (1, 2, 3, 4, 5, 6))],
        ["event gauge_silent"],
    ),
    "overrun": (
        "the queue ran over: it is started afresh",
        {"part": "mpu6050"},
        ["overrun: 1", "queue: " + samples(">", (1, 2, 3, 4, 5, 6))],
        ["event edges_lost", "event gauge_silent"],
    ),
}


def write(folder: str, name: str, comment: str, rows: list[str], expect: list[str]) -> None:
    path = VECTORS / folder / f"{name}.txt"
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [f"comment: {comment}", *[f"expect: {row}" for row in expect], *rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


# Kind → name of a vector → what it shows, settings, what the source gets, what it must say.
VECTORS_OF = {"bcd52": BCD52, "ascii_line": ASCII, "bridge24": BRIDGE, "motion": MOTION}


def main() -> None:
    for folder, table in VECTORS_OF.items():
        for name, (comment, settings, rows, expect) in table.items():
            given = ["settings: " + json.dumps(settings)]
            write(folder, name, comment, given + rows, expect)


if __name__ == "__main__":
    main()

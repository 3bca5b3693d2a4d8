"""Change captures in every way that comes to mind, and count what verification notices.

    make tamper        (.venv/bin/python tests/tamper.py [CAPTURE OTHER HOME])

Every byte of a capture is changed; every line and every record is taken out, doubled, swapped and
replaced by one of another capture of the same board; and an attacker who has the technician's key,
but not the board's, seals what he changed. Each must be noticed, and each change of one byte must
be shown to its place.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from rockhold.evidence import findings as f
from rockhold.evidence.seal import make_seal
from rockhold.evidence.verify import verify_bytes
from support_evidence import (
    SIGNED_UTC,
    lines_of,
    packet_of,
    rechained,
    record_indexes,
    with_packet,
    without_seals,
)

Mutation = tuple[str, bytes]


def bytes_changed(data: bytes, every: int = 1, masks: tuple[int, ...] = (1,)) -> Iterator[Mutation]:
    """One byte changed, at every place."""
    for at in range(0, len(data), every):
        for mask in masks:
            yield f"byte {at} ^ {mask}", data[:at] + bytes((data[at] ^ mask,)) + data[at + 1 :]


def bytes_removed(data: bytes, every: int = 1) -> Iterator[Mutation]:
    """One byte taken out, put in, and the file cut, at every place."""
    for at in range(0, len(data), every):
        yield f"byte {at} taken out", data[:at] + data[at + 1 :]
        yield f"byte put in at {at}", data[:at] + b"0" + data[at:]
        yield f"cut at {at}", data[:at]


def lines_moved(data: bytes, other: bytes, every: int = 1) -> Iterator[Mutation]:
    """Lines taken out, doubled, swapped with the next, and taken from another capture."""
    lines, strange = lines_of(data), lines_of(other)
    for at in range(0, len(lines), every):
        yield f"line {at + 1} taken out", b"".join(lines[:at] + lines[at + 1 :])
        yield f"line {at + 1} doubled", b"".join(lines[:at] + lines[at : at + 1] + lines[at:])
        if at + 1 < len(lines):
            swapped = [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]
            yield f"line {at + 1} swapped", b"".join(swapped)
        if 0 < at < len(strange) and strange[at] != lines[at]:
            yield (
                f"line {at + 1} of the other capture",
                b"".join([*lines[:at], strange[at], *lines[at + 1 :]]),
            )
            yield (
                f"the other capture from line {at + 1} on",
                b"".join(lines[:at] + strange[at:]),
            )


def added(data: bytes) -> Iterator[Mutation]:
    """Bytes and lines below the last seal."""
    for tail in (b" ", b"\n", b"\0" * 512, b'{"note":"x","host_utc_us":1}\n', b"{}\n", b"\xff\xfe"):
        yield f"{tail[:8]!r} below", data + tail
    yield "the whole file twice", data + data


# --- by an attacker who has the technician's key -------------------------------------------------


def records_forged(data: bytes, other: bytes, every: int = 1) -> Iterator[Mutation]:
    """Records changed, taken out, doubled, swapped, spliced; not yet sealed again."""
    lines, strange = lines_of(without_seals(data)), lines_of(without_seals(other))
    at_record, strange_record = record_indexes(lines), record_indexes(strange)
    for number in range(0, len(at_record), every):
        at = at_record[number]
        packet = bytearray(packet_of(lines[at]))
        packet[len(packet) // 2] ^= 1
        changed = [*lines[:at], with_packet(lines[at], bytes(packet)), *lines[at + 1 :]]
        yield f"record {number} changed", b"".join(changed)
        yield f"record {number} taken out", b"".join(lines[:at] + lines[at + 1 :])
        yield f"record {number} doubled", b"".join(lines[: at + 1] + lines[at:])
        if number + 1 < len(at_record):
            to = at_record[number + 1]
            swapped = list(lines)
            swapped[at], swapped[to] = lines[to], lines[at]
            yield f"record {number} swapped", b"".join(swapped)
        if number < len(strange_record):
            spliced = [*lines[:at], strange[strange_record[number]], *lines[at + 1 :]]
            yield f"record {number} of the other capture", b"".join(spliced)


def sealed_again(forged: Iterator[Mutation], signer: object, nonce: bytes) -> Iterator[Mutation]:
    """The attacker's seal over each, also with chain and CRC of all records made anew."""
    for name, above in forged:
        yield f"{name}, sealed again", above + _seal(above, signer)
        chained = b"".join(rechained(lines_of(above), nonce))
        if chained != above:
            yield f"{name}, chained and sealed again", chained + _seal(chained, signer)


def header_forged(data: bytes) -> Iterator[Mutation]:
    """Another vehicle, wheel end, board, procedure or nonce in line 1; not yet sealed again."""
    above = without_seals(data)
    first, rest = above.split(b"\n", 1)
    for old, new in (
        (b"T-1", b"T-2"),
        (b'"mount":"spindle"', b'"mount":"hub"'),
        (b'"nonce":"', b'"nonce":"0'),
        (b'"id":"', b'"id":"0'),
        (b"hold", b"hole"),
        (b'"public_key":"', b'"public_key":null,"old_key":"'),
    ):
        if old in first:
            yield f"{old.decode()} in the header changed", first.replace(old, new, 1) + b"\n" + rest


def board_seal_stripped(data: bytes) -> Iterator[Mutation]:
    """The board's seal taken out, alone and with the records before it."""
    lines = lines_of(without_seals(data))
    records = record_indexes(lines)
    for keep in (len(records) - 1, len(records) - 2, len(records) // 2, 1, 0):
        gone = set(records[keep:])
        kept = [line for at, line in enumerate(lines) if at not in gone]
        yield f"only {keep} records kept", b"".join(kept)


def _seal(above: bytes, signer) -> bytes:
    return make_seal(above, signer.key, signer.role, signer.name, SIGNED_UTC)


# --- counting ------------------------------------------------------------------------------------


def count(mutations: Iterator[Mutation], original: bytes, trust) -> tuple[Counter, list[str]]:
    """Return how often each state came out, and what was not noticed or not shown to a place."""
    states: Counter = Counter()
    missed, exact = [], 0
    for name, data in mutations:
        if data == original:
            continue
        found = verify_bytes(Path("x"), data, trust)
        states[found.state] += 1
        if found.state == f.GOOD:
            missed.append(name)
        elif not any("ine " in sentence or "begins" in sentence for _, sentence in found.problems):
            missed.append(f"{name}: no place ({found.problems})")
        elif name.startswith("byte ") and " ^ " in name and found.damage is not None:
            line = original.count(b"\n", 0, int(name.split()[1])) + 1
            exact += found.damage.line == line
    if exact:
        states["shown to the very line"] = exact
    return states, missed


def studies(data: bytes, other: bytes, signer, nonce: bytes, every: int = 1, masks=(1, 0x20, 0x80)):
    """Name and mutations of each study."""
    yield "one byte changed", bytes_changed(data, every, masks)
    yield "one byte taken out or put in, file cut", bytes_removed(data, every)
    yield "lines taken out, doubled, swapped, spliced", lines_moved(data, other, every)
    yield "something added below", added(data)
    if signer is not None:
        yield (
            "records forged, sealed with the technician's key",
            sealed_again(records_forged(data, other, every), signer, nonce),
        )
        yield (
            "header forged, sealed with the technician's key",
            ((name, above + _seal(above, signer)) for name, above in header_forged(data)),
        )
        yield (
            "board's seal taken out, sealed with the technician's key",
            sealed_again(board_seal_stripped(data), signer, nonce),
        )


def main() -> int:
    """Run every study over a capture and print a table."""
    from support_evidence import TECHNICIAN, TRUST, make_capture

    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path("out/tamper")
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / "one.capture", folder / "other.capture"]
    for seed, path in enumerate(paths):
        path.unlink(missing_ok=True)
        make_capture(path, seed=seed + 20)
    data, other = (path.read_bytes() for path in paths)
    nonce = bytes.fromhex(data.split(b'"nonce":"', 1)[1][:32].decode())
    random.seed(4)
    tried = caught = 0
    print(f"{len(data)} bytes, {data.count(bytes((10,)))} lines")
    for name, mutations in studies(data, other, TECHNICIAN, nonce):
        states, missed = count(mutations, data, TRUST)
        exact = states.pop("shown to the very line", 0)
        number = states.total()
        tried, caught = tried + number, caught + number - len(missed)
        detail = ", ".join(f"{state} {n}" for state, n in sorted(states.items()))
        print(f"{name}: tried {number}, caught {number - len(missed)} ({detail})", flush=True)
        if exact:
            print(f"  shown to the very line: {exact}")
        for miss in missed[:10]:
            print(f"  MISSED {miss}")
    print(f"tried {tried}, caught {caught}")
    return tried != caught


if __name__ == "__main__":
    sys.exit(main())

import json

import pytest

from rockhold.capture.reader import parse_capture
from rockhold.errors import SignatureError
from rockhold.evidence.boardproof import check_records
from rockwire import frames
from rockwire.chain import Chain
from support_evidence import (
    BOARD_SECRET,
    lines_of,
    make_capture,
    packet_of,
    rechained,
    record_indexes,
    with_packet,
)


@pytest.fixture(scope="module")
def lines(tmp_path_factory):
    path = make_capture(tmp_path_factory.mktemp("c") / "a.capture", stop=True)
    return lines_of(path.read_bytes())


def proof_of(lines):
    data = b"".join(lines)
    return check_records(parse_capture("x", data), lines[0])


def made_with_tag(line, tag):
    """A record's line with another tag and a right CRC."""
    body = frames.body_of(packet_of(line))
    return with_packet(line, frames.pack_record(body, tag))


def refused(lines, line, words):
    with pytest.raises(SignatureError, match=words) as caught:
        proof_of(lines)
    assert caught.value.line == line
    assert caught.value.byte == sum(map(len, lines[: line - 1]))


def header_with(lines, change):
    header = json.loads(lines[0])
    change(header)
    text = json.dumps(header, ensure_ascii=False, separators=(",", ":"))
    return [text.encode() + b"\n", *lines[1:]]


def test_a_whole_capture_proves_everything(lines):
    proof = proof_of(lines)
    assert (proof.sealed, proof.closed, proof.header_bound) == (True, True, True)
    assert proof.records == len(record_indexes(lines))
    assert proof.last_line == record_indexes(lines)[-1] + 1


def test_without_the_boards_seal_its_records_bind_no_header(lines):
    proof = proof_of([line for at, line in enumerate(lines) if at != record_indexes(lines)[-1]])
    assert (proof.sealed, proof.closed, proof.header_bound) == (False, True, False)


def test_each_fault_of_a_record_is_told_at_its_line(lines):
    at = record_indexes(lines)
    packet = packet_of(lines[at[5]])
    bad_crc = [*lines]
    bad_crc[at[5]] = with_packet(lines[at[5]], packet[:-1] + bytes((packet[-1] ^ 1,)))
    refused(bad_crc, at[5] + 1, "damaged")
    missing = lines[: at[5]] + lines[at[5] + 1 :]
    refused(missing, at[5] + 1, "stands where record 5 belongs")
    body = bytearray(frames.body_of(packet))
    body[-1] ^= 1
    other = [*lines]
    other[at[5]] = with_packet(lines[at[5]], frames.pack_record(bytes(body), packet[-6:-2]))
    refused(other, at[5] + 1, "does not follow")
    command = [*lines]
    command[at[0]] = with_packet(lines[at[0]], bytes.fromhex("010107004ddd"))
    with pytest.raises(SignatureError):
        proof_of(command)


def test_a_seal_whose_tag_does_not_follow_is_told(lines):
    at = record_indexes(lines)[-1]
    changed = [*lines]
    changed[at] = made_with_tag(lines[at], b"tag!")
    refused(changed, at + 1, "does not follow")


def test_a_board_without_a_name_has_an_empty_one(lines):
    assert proof_of(lines).name == "bench board"
    assert proof_of(header_with(lines[:1], lambda header: header["board"].pop("name"))).name == ""


def test_a_record_below_the_boards_seal_is_told(lines):
    at = record_indexes(lines)[-1]
    refused([*lines[: at + 1], lines[at], *lines[at + 1 :]], at + 2, "below the board's seal")


def test_a_first_record_that_opens_nothing(lines):
    at = record_indexes(lines)
    nonce = bytes.fromhex(json.loads(lines[0])["nonce"])
    refused(rechained(lines[: at[0]] + lines[at[0] + 1 :], nonce), 2, "does not open")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda header: header.update(nonce="0" * 32), "another capture|does not follow"),
        (lambda header: header.update(nonce="abc"), "no nonce"),
        (lambda header: header.update(nonce=5), "no nonce"),
        (lambda header: header.update(nonce=header["nonce"].upper()), "no nonce"),
        (lambda header: header.update(board=None), "which board"),
        (lambda header: header["board"].update(id="00" * 8), "another board's key"),
        (lambda header: header["board"].update(public_key="00" * 32), "another board's key"),
        (lambda header: header["board"].update(public_key="zz"), "which board"),
        (lambda header: header["vehicle"].update(number="T-119"), "told before its first reading"),
    ],
)
def test_a_header_that_does_not_fit(lines, change, words):
    with pytest.raises(SignatureError, match=words) as caught:
        proof_of(header_with(lines, change))
    if "another capture" not in words:
        assert (caught.value.line, caught.value.byte) == (1, 0)


def test_records_of_another_board_under_its_own_id(lines, tmp_path):
    strange = lines_of(
        make_capture(tmp_path / "b.capture", board_secret=BOARD_SECRET[::-1]).read_bytes()
    )
    theirs = json.loads(strange[0])["board"]
    changed = header_with(lines, lambda header: header.update(board=theirs))
    with pytest.raises(SignatureError, match="the header names another"):
        proof_of(changed)


def test_a_capture_that_the_button_opened_is_not_bound_to_its_header(lines):
    nonce = bytes.fromhex(json.loads(lines[0])["nonce"])
    at = record_indexes(lines)[0]
    body = bytearray(frames.body_of(packet_of(lines[at])))
    body[-1] = 1
    chain = Chain(nonce)
    opened = with_packet(lines[at], frames.pack_record(bytes(body), chain.extend(bytes(body))))
    cut = [*lines[:at], opened]
    proof = proof_of(header_with(cut, lambda header: header["vehicle"].update(number="T-119")))
    assert (proof.sealed, proof.header_bound, proof.closed) == (False, False, False)


def test_no_records_at_all(lines):
    proof = proof_of(lines[:1])
    assert (proof.records, proof.last_line, proof.sealed) == (0, 0, False)

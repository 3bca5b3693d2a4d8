"""Verification against everything that an attacker, a disk or a careless hand may do."""

from pathlib import Path

import pytest

import tamper
from rockhold.capture.reader import read_capture
from rockhold.errors import CaptureVersionError
from rockhold.evidence import findings as f
from rockhold.evidence.seal import make_seal
from rockhold.evidence.trust import Trusted
from rockhold.evidence.verify import verify_bytes, verify_file
from rockhold.evidence.words import next_step
from support_evidence import (
    BOARD_SECRET,
    REVIEWER,
    SIGNED_UTC,
    STRANGE_SECRET,
    TECHNICIAN,
    TRUST,
    lines_of,
    make_capture,
    packet_of,
    person,
    rechained,
    record_indexes,
    trusting,
    with_packet,
    without_seals,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("captures")


@pytest.fixture(scope="module")
def good(folder):
    return make_capture(folder / "good.capture").read_bytes()


@pytest.fixture(scope="module")
def other(folder):
    return make_capture(folder / "other.capture", seed=21).read_bytes()


def nonce_of(data):
    return bytes.fromhex(data.split(b'"nonce":"', 1)[1][:32].decode())


def verified(data, trust=TRUST):
    return verify_bytes(Path("x.capture"), data, trust)


def sealed(above, signer=TECHNICIAN):
    return above + make_seal(above, signer.key, signer.role, signer.name, SIGNED_UTC)


def test_an_untouched_capture_by_trusted_keys_is_good(good):
    found = verified(good)
    assert (found.state, found.problems, found.damage) == (f.GOOD, (), None)
    assert [(seal.by, seal.trusted) for seal in found.seals] == [("A. Miller", True)]
    assert found.board.sealed
    assert found.board.header_bound
    assert found.board.known_as == "Board 7"
    assert found.result.reproduced is True
    assert found.lines == found.sealed_lines
    assert not found.cut_short
    assert found.job["vehicle"] == "T-118"


def test_of_several_problems_the_worst_comes_first(good):
    above = without_seals(good).replace(b'"verdict":"accept"', b'"verdict":"reject"')
    found = verified(sealed(above) + b'{"note":"below"}\n', trusting(REVIEWER, board=None))
    states = [state for state, _ in found.problems]
    assert states == sorted(states, key=f.ORDER.index, reverse=True)
    assert set(states) == {f.NOT_REPRODUCED, f.UNKNOWN_KEY, f.UNSEALED}
    assert found.state == f.NOT_REPRODUCED


def test_an_unsealed_capture_has_no_sealed_line(good):
    found = verified(without_seals(good))
    assert (found.state, found.sealed_lines, found.seals) == (f.UNSEALED, 0, ())


# --- the sampled mutation study; `make tamper` runs all of it ------------------------------------


def test_every_mutation_is_noticed_and_shown_to_a_place(good, other):
    for name, mutations in tamper.studies(good, other, TECHNICIAN, nonce_of(good), 97, (1,)):
        states, missed = tamper.count(mutations, good, TRUST)
        assert not missed, name
        assert states, name


def test_a_changed_byte_is_shown_to_its_very_line(good):
    for at in range(5, len(good), 211):
        changed = good[:at] + bytes((good[at] ^ 1,)) + good[at + 1 :]
        found = verified(changed)
        assert found.damage is not None, at
        line = good.count(b"\n", 0, at) + 1
        assert found.damage.line == line
        assert found.damage.byte == good.rfind(b"\n", 0, at) + 1


# --- single attacks, and to whom they are attributed ---------------------------------------------


def test_records_edited_and_sealed_again_by_the_technician_are_not_the_boards(good):
    lines = lines_of(without_seals(good))
    at = record_indexes(lines)[9]
    packet = bytearray(packet_of(lines[at]))
    packet[20] ^= 4
    lines[at] = with_packet(lines[at], bytes(packet))
    found = verified(sealed(b"".join(rechained(lines, nonce_of(good)))))
    assert found.state == f.DAMAGED
    assert "the board did not sign these" in found.problems[0][1]
    assert found.damage.line == record_indexes(lines)[-1] + 1
    # The seal that covers the forgery is named.
    seal = f" The seal of A. Miller, line {found.lines}, was made over that."
    assert found.problems[0][1].endswith(seal)
    assert found.result is None  # of damaged readings none is computed


def test_a_header_relabelled_and_sealed_again_by_the_technician_is_not_the_boards(good):
    found = verified(sealed(without_seals(good).replace(b"T-118", b"T-119", 1)))
    assert found.state == f.DAMAGED
    assert found.damage.line == 1
    assert "told before its first reading" in found.damage.what


def test_records_of_another_capture_of_the_same_board_do_not_fit_the_header(good, other):
    mine, strange = lines_of(without_seals(good)), lines_of(without_seals(other))
    found = verified(sealed(b"".join([mine[0], *strange[1:]])))
    assert found.state == f.DAMAGED
    assert "another capture than the header" in found.damage.what


def test_a_stripped_board_seal_is_never_good(good):
    lines = lines_of(without_seals(good))
    del lines[record_indexes(lines)[-1]]
    found = verified(sealed(b"".join(lines)))
    assert found.state == f.UNSEALED
    assert "its seal is missing" in found.problems[0][1]


def test_a_header_that_names_no_key_to_hide_a_stripped_seal_is_noticed(good):
    lines = lines_of(without_seals(good))
    del lines[record_indexes(lines)[-1]]
    at = lines[0].index(b'"public_key":"') + 13
    lines[0] = lines[0][:at] + b"null" + lines[0][at + 66 :]
    found = verified(sealed(b"".join(lines)))
    assert found.state == f.DAMAGED
    assert found.damage.line == 1


def test_another_board_in_the_header_is_noticed(good, folder):
    strange = make_capture(folder / "strange.capture", board_secret=STRANGE_SECRET).read_bytes()
    mine, theirs = lines_of(without_seals(good)), lines_of(without_seals(strange))
    found = verified(sealed(b"".join([theirs[0], *mine[1:]])))
    assert found.state == f.DAMAGED
    assert verified(strange).state == f.UNKNOWN_KEY
    assert verified(strange, trusting(TECHNICIAN, board=STRANGE_SECRET)).state == f.GOOD


def test_a_board_without_a_key_signs_nothing(folder):
    data = make_capture(folder / "keyless.capture", board_secret=None).read_bytes()
    found = verified(data)
    assert found.state == f.UNSEALED
    assert "has no key" in found.problems[0][1]
    board = found.board
    assert (board.key, board.fingerprint, board.known_as) == ("", "", "")


def test_an_unknown_technician_a_wrong_role_and_an_impostors_name(good):
    assert verified(good, trusting(REVIEWER)).state == f.UNKNOWN_KEY
    wrong_role = {(key, "reviewer" if role == "technician" else role): who
                  for (key, role), who in TRUST.items()}  # fmt: skip
    found = verified(good, wrong_role)
    assert found.state == f.UNKNOWN_KEY
    assert "trusted as reviewer only" in found.problems[0][1]
    impostor = person("A. Miller", secret=b"impostor")
    assert verified(sealed(without_seals(good), impostor)).state == f.UNKNOWN_KEY


def test_a_retired_key_keeps_its_older_seals_and_a_stolen_one_none(good):
    def with_technician(**facts):
        return {
            key: Trusted("A. Miller", **facts) if key[1] == "technician" else who
            for key, who in TRUST.items()
        }

    later, earlier = "2027-01-01T00:00:00Z", "2026-01-01T00:00:00Z"
    found = verified(good, with_technician(retired_utc=later))
    assert found.state == f.GOOD
    assert "retired on 2027" in found.seals[0].remark
    assert verified(good, with_technician(retired_utc=earlier)).state == f.UNKNOWN_KEY
    stolen = verified(good, with_technician(retired_utc=later, stolen=True))
    assert stolen.state == f.UNKNOWN_KEY


def test_a_change_between_two_seals_is_shown_to_its_line(good):
    note = b'{"note":"x","host_utc_us":1}\n'
    found = verified(sealed(good + note).replace(note, note.replace(b"x", b"y")))
    assert (found.damage.line, found.damage.byte) == (good.count(b"\n") + 1, len(good))
    assert "The seal of" not in found.problems[0][1]  # the one above it was made before


def test_a_line_that_cannot_be_read_is_shown_though_it_was_sealed(good):
    lines = lines_of(without_seals(good))
    lines[3] = b"no line of a capture\n"
    found = verified(sealed(b"".join(lines)))
    assert (found.damage.line, found.damage.byte) == (4, sum(map(len, lines[:3])))


def test_each_thing_that_is_wrong_is_told_once(good):
    found = verified(good.replace(b"T-118", b"T-119", 1))
    told = [sentence for state, sentence in found.problems if state == f.DAMAGED]
    assert ["it was changed" in told[0], "told before its first" in told[1]] == [True, True]
    assert len(told) == 2


def test_a_moved_seal_fits_no_more(good):
    lines = lines_of(good)
    seal = lines.pop()
    for at in (1, 5, len(lines) - 1):
        found = verified(b"".join([*lines[:at], seal, *lines[at:]]))
        assert found.state == f.DAMAGED


def test_converted_line_ends_are_named(good):
    found = verified(good.replace(b"\n", b"\r\n"))
    assert found.state == f.DAMAGED
    assert "Lines end with CR LF" in found.problems[0][1]
    assert "CR LF" not in verified(good.replace(b"T-118", b"T-119")).problems[0][1]


def test_bytes_below_the_last_seal_are_told(good):
    note = b'{"note":"x","host_utc_us":1}\n'
    found = verified(good + note)
    assert found.state == f.UNSEALED
    assert f"Line {found.lines} stands below" in found.problems[0][1]
    cut = verified(good + b"{")
    assert "ends inside line" in cut.problems[0][1]
    assert (cut.cut_short, verified(without_seals(good)).sealed_lines) == (True, 0)
    assert verified(good + note.replace(b"note", b"seal")).state == f.DAMAGED


def test_a_seal_whose_name_was_changed_is_damage_not_an_unsealed_file(good):
    found = verified(good.replace(b'{"seal":', b'{"seam":'))
    assert found.state == f.DAMAGED
    assert found.damage.line == found.lines


def test_a_changed_result_is_not_reproduced(good):
    above = without_seals(good)
    found = verified(sealed(above.replace(b'"verdict":"accept"', b'"verdict":"reject"')))
    assert found.state == f.NOT_REPRODUCED
    assert "verdict: reject stored, the readings give accept" in found.result.difference
    without = b"".join(line for line in lines_of(above) if not line.startswith(b'{"result"'))
    assert verified(sealed(without)).result.reproduced is None


def test_an_older_file_may_tell_less_than_a_newer_rockhold(good):
    above = without_seals(good)
    at = above.index(b',"cycles":')
    older = above[:at] + above[above.index(b',"drift_mm"', at) :]
    assert verified(sealed(older)).state == f.GOOD


def test_a_review_counts_only_under_the_reviewers_own_seal(good):
    entry = b'{"entry":"review","by":"O. Quist","verdict":"accept","because":"fine"}\n'
    by_reviewer = verified(sealed(good + entry, REVIEWER))
    assert by_reviewer.state == f.GOOD
    assert (by_reviewer.seals[1].verdict, by_reviewer.seals[1].because) == ("accept", "fine")
    by_technician = verified(sealed(good + entry))
    assert [seal.verdict for seal in by_technician.seals] == ["", ""]
    assert verified(sealed(without_seals(good), REVIEWER)).state == f.UNSEALED


@pytest.mark.parametrize(
    ("start", "words"),
    [
        (b"PK\3\4 something else entirely", "begins like a ZIP archive"),
        (b"", "is empty"),
    ],
)
def test_what_is_no_capture_of_ours_is_unreadable(start, words, tmp_path):
    path = tmp_path / "x.capture"
    path.write_bytes(start)
    found = verify_file(path, TRUST)
    assert found.state == f.UNREADABLE
    assert words in found.problems[0][1]
    assert verify_file(tmp_path / "none", TRUST).state == f.UNREADABLE


def test_what_a_newer_rockhold_made_has_a_state_and_an_error_of_its_own(tmp_path):
    path = tmp_path / "x.capture"
    path.write_bytes(b'{"rockhold":"capture","version":2,"capture":"c"}\n')
    found = verify_file(path, TRUST)
    assert found.state == f.NEWER
    assert "version 2" in found.problems[0][1]
    assert "bring rockhold up to date" in next_step(found)
    with pytest.raises(CaptureVersionError, match=r"x\.capture: it is of version 2"):
        read_capture(path)
    path.write_bytes(b'{"rockhold":"capture","version":0,"capture":"c"}\n')
    assert verify_file(path, TRUST).state == f.DAMAGED  # there never was such a version


def test_the_answer_as_json_holds_plain_values(good):
    value = verified(good[:-1]).to_json()
    assert value["state"] == "unsealed"
    assert value["problems"][0]["state"] == "unsealed"
    assert value["board"]["sealed"] is True
    assert BOARD_SECRET.hex() not in str(value)

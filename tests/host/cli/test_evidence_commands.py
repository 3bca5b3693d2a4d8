"""verify, keys, seal and review as a person meets them."""

import json
import os
import pty
import subprocess
import time

import pytest

from rockhold.cli import exits
from support_board import Rockhold
from support_evidence import lines_of, make_capture, without_seals


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.fixture
def path(tmp_path):
    return make_capture(tmp_path / "left.capture")


def trust_all(rockhold, path):
    for role in ("board", "technician"):
        done = rockhold("keys", "trust", path, "--role", role, "--yes")
        assert done.returncode == exits.OK, done.stderr


def test_a_reviewers_first_day(rockhold, path):
    done = rockhold("verify", path)
    assert done.returncode == exits.UNKNOWN_KEY
    for role in ("technician", "board"):
        assert f"rockhold keys trust {path} --role {role}" in done.stdout
    trust_all(rockhold, path)
    done = rockhold("verify", path)
    assert done.returncode == exits.OK
    assert "GOOD: untouched since it was sealed" in done.stdout
    assert "vehicle T-118" in done.stdout
    assert rockhold("keys", "make", "O. Quist", "--role", "reviewer").returncode == exits.OK
    before = path.read_bytes()
    done = rockhold("review", path, "--accept", "--because", "three clean cycles")
    assert done.returncode == exits.OK, done.stderr
    assert 'Accepted and sealed by "O. Quist"' in done.stdout
    assert path.read_bytes().startswith(before)
    assert "Accepted by  O. Quist" in rockhold("verify", path).stdout


def test_every_state_has_its_own_exit_code_and_the_worst_of_several_counts(rockhold, path):
    trust_all(rockhold, path)
    data = path.read_bytes()
    lines = lines_of(data)
    files = {
        exits.OK: data,
        exits.UNSEALED: without_seals(data),
        exits.UNKNOWN_KEY: make_capture(
            path.with_name("b"), board_secret=bytes(range(9, 41))
        ).read_bytes(),
        exits.BAD_FILE: b"hello",
        exits.BAD_EVIDENCE: b"".join(lines[:5] + lines[6:]),
    }
    paths = {}
    for code, content in files.items():
        paths[code] = path.with_name(f"{code}.capture")
        paths[code].write_bytes(content)
        done = rockhold("verify", paths[code])
        assert done.returncode == code, done.stdout
        assert done.stderr == ""
    order = (exits.BAD_EVIDENCE, exits.BAD_FILE, exits.UNKNOWN_KEY, exits.UNSEALED, exits.OK)
    for at, code in enumerate(order):
        assert rockhold("verify", *[paths[c] for c in order[at:]]).returncode == code
    done = rockhold("verify", path.parent, "--json")
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(rows) == len(list(path.parent.glob("*.capture")))
    assert {"file", "state", "problems", "damage", "seals", "board", "result"} <= set(rows[0])


def test_damage_is_shown_to_its_place(rockhold, path):
    data = path.read_bytes()
    path.write_bytes(data.replace(b"cap was loose", b"cap was tight"))
    done = rockhold("verify", path)
    line = data.count(b"\n", 0, data.index(b"cap was")) + 1
    assert done.returncode == exits.BAD_EVIDENCE
    assert f"Line {line} (from byte " in done.stdout
    assert "Next: do not rely on it" in done.stdout


def test_nothing_to_verify_is_a_usage_error(rockhold, tmp_path):
    (tmp_path / "empty").mkdir()
    done = rockhold("verify", tmp_path / "empty")
    assert done.returncode == exits.USAGE
    assert "no captures in" in done.stderr


def test_keys_are_made_shown_trusted_and_retired(rockhold, tmp_path, path):
    assert "No keys in" in rockhold("keys", "list").stdout
    assert rockhold("keys", "make", "A. Miller").returncode == exits.OK
    assert rockhold("keys", "make", "A. Miller").returncode == exits.USAGE
    shown = rockhold("keys", "show", "A. Miller")
    public = tmp_path / "miller.json"
    public.write_text(shown.stdout)
    assert '"secret"' not in shown.stdout
    assert "fingerprint: " in shown.stderr
    other = Rockhold(tmp_path / "other")
    refused = other("keys", "trust", public, "--role", "technician")
    assert refused.returncode == exits.USAGE
    assert "compare the fingerprint, then add --yes" in refused.stderr
    assert other("keys", "trust", public, "--role", "reviewer", "--yes").returncode == exits.USAGE
    assert other("keys", "trust", public, "--role", "technician", "--yes").returncode == exits.OK
    row = json.loads(other("keys", "list", "--json").stdout)
    assert (row["name"], row["role"], row["own"]) == ("A. Miller", "technician", False)
    gone = other("keys", "retire", row["fingerprint"][:9], "--because", "left", "--stolen")
    assert gone.returncode == exits.OK, gone.stderr
    assert "stolen" in other("keys", "list").stdout
    assert other("keys", "retire", "nobody", "--because", "x").returncode == exits.USAGE
    digits = "ab" * 32
    assert other("keys", "trust", digits, "--role", "board", "--yes").returncode == exits.USAGE
    done = other("keys", "trust", digits, "--role", "board", "--name", "Board 7", "--yes")
    assert done.returncode == exits.OK


def test_a_damaged_key_file_is_named_and_the_rest_works(rockhold, path):
    trust_all(rockhold, path)
    folder = path.parent / "home" / "trusted"
    (folder / "zz.json").write_bytes(b"\0")
    done = rockhold("verify", path)
    assert done.returncode == exits.OK
    assert "zz.json is damaged" in done.stderr
    assert "damaged: " in rockhold("keys", "list").stderr


@pytest.mark.parametrize(
    "content", [b"hello", b"{}", b"[" * 50_000, b'{"rockhold":"key"}', b"x" * 100_000, b"\xff"]
)
def test_what_holds_no_key_is_not_trusted(rockhold, tmp_path, content):
    source = tmp_path / "source"
    source.write_bytes(content)
    done = rockhold("keys", "trust", source, "--role", "board", "--name", "x", "--yes")
    assert done.returncode == exits.USAGE
    assert "Traceback" not in done.stderr


def test_a_capture_without_the_key_in_question_gives_none(rockhold, path):
    done = rockhold("keys", "trust", path, "--role", "reviewer", "--yes")
    assert done.returncode == exits.USAGE
    assert "holds 0 keys for the role reviewer" in done.stderr
    path.write_bytes(path.read_bytes().replace(b"T-118", b"T-119"))
    assert rockhold("keys", "trust", path, "--role", "board", "--yes").returncode == (
        exits.BAD_EVIDENCE
    )
    assert rockhold("keys", "trust", path.parent / "no", "--role", "board").returncode == 2


def test_seal_finishes_a_torn_capture(rockhold, path):
    trust_all(rockhold, path)
    data = path.read_bytes()
    torn = data[: len(without_seals(data)) // 2]
    path.write_bytes(torn)
    assert rockhold("keys", "make", "A. Miller").returncode == exits.OK
    done = rockhold("seal", path)
    assert done.returncode == exits.OK, done.stderr
    assert "Recovered: " in done.stdout
    assert "The board did not sign these readings" in done.stdout
    assert path.read_bytes().startswith(torn[: torn.rfind(b"\n") + 1])
    done = rockhold("verify", path)
    assert done.returncode == exits.UNSEALED
    assert "decide whether you take the word" in done.stdout
    again = rockhold("seal", path)
    assert again.returncode == exits.USAGE
    assert "nothing to finish" in again.stderr


def test_review_asks_for_what_it_needs(rockhold, path):
    assert rockhold("review", path, "--because", "x").returncode == exits.USAGE
    assert rockhold("review", path, "--accept", "--because", " ").returncode == exits.USAGE
    done = rockhold("review", path, "--accept", "--because", "x")
    assert "rockhold keys make" in done.stderr
    path.write_bytes(without_seals(path.read_bytes()))
    done = rockhold("review", path, "--reject", "--because", "x", "--reviewer", "O. Quist")
    assert done.returncode == exits.UNSEALED
    assert "rockhold seal" in done.stderr
    done = rockhold("review", path)  # nobody to decide, and nothing to decide on
    assert done.returncode == exits.UNSEALED


def test_without_a_terminal_and_a_passphrase_no_key_is_made_silently(rockhold, path):
    del rockhold.env["ROCKHOLD_PASSPHRASE"]
    path.write_bytes(without_seals(path.read_bytes()))
    done = rockhold("seal", path)
    assert done.returncode == exits.USAGE
    assert "rockhold keys make" in done.stderr
    done = rockhold("keys", "make", "A. Miller")
    assert "--no-passphrase" in done.stderr
    assert rockhold("keys", "make", "A. Miller", "--no-passphrase").returncode == exits.OK
    assert rockhold("seal", path).returncode == exits.OK


def test_on_a_terminal_the_passphrase_is_asked_for_and_not_shown(rockhold, path):
    del rockhold.env["ROCKHOLD_PASSPHRASE"]
    near, far = pty.openpty()
    running = subprocess.Popen(
        [*rockhold.command, "keys", "make", "A. Miller"],
        stdin=far,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=rockhold.env,
        start_new_session=True,
    )
    os.close(far)
    err = b""
    for question in (b"Passphrase for", b"Repeat"):
        while question not in err:
            err += os.read(running.stderr.fileno(), 100)
        time.sleep(0.2)  # what is typed before the question is thrown away
        os.write(near, b"some plain words\n")
    out, rest = running.communicate(timeout=30)
    err += rest
    os.close(near)
    assert running.returncode == exits.OK, err
    assert b"some plain" not in out + err
    assert b"no passphrase" not in out
    path.write_bytes(without_seals(path.read_bytes()))
    rockhold.env["ROCKHOLD_PASSPHRASE"] = "other words"
    done = rockhold("seal", path)
    assert "passphrase is wrong" in done.stderr
    rockhold.env["ROCKHOLD_PASSPHRASE"] = "some plain words"
    assert rockhold("seal", path).returncode == exits.OK

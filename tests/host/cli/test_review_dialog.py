"""The review as a person at a terminal meets it: one screen, then a decision; and the queue."""

import os
import pty
import subprocess

import pytest

from rockhold.cli import exits, secret
from rockhold.errors import SignatureError, WrongPassphraseError
from rockhold.evidence.countersign import countersign
from rockhold.evidence.keys import make_key
from rockhold.report.gather import gather
from rockhold.report.questions import screen
from rockhold.report.units import METRIC, US
from support_board import Rockhold
from support_evidence import REVIEWER, TRUST, make_capture, without_seals
from support_report import FLEET, fleet_trust


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.fixture
def reviewer(rockhold):
    assert rockhold("keys", "make", "O. Quist", "--role", "reviewer").returncode == exits.OK
    rockhold.env |= {"BROWSER": "true", "DISPLAY": ""}
    return rockhold


def at_terminal(rockhold, typed, *arguments):
    """Run with a terminal to type at; return the finished process."""
    near, far = pty.openpty()
    os.write(near, typed.encode())
    try:
        return subprocess.run(
            [*rockhold.command, *map(str, arguments)], stdin=far, capture_output=True, text=True,
            timeout=60, env=rockhold.env,
        )  # fmt: skip
    finally:
        os.close(near)
        os.close(far)


def test_the_questions_fit_on_one_screen_for_the_whole_fleet(monkeypatch):
    trust = fleet_trust(monkeypatch)
    for job in (gather(path, trust) for path in FLEET):
        for units, alien in ((US, " mm"), (METRIC, "thousandths")):
            lines = screen(job, units)
            assert len(lines) <= 22  # and the question below: 24
            assert max(map(len, lines)) <= 80
            assert alien not in " ".join(lines)
            questions = [line[:16].strip() for line in lines if line[:16].strip().endswith("?")]
            assert questions == [
                "Untouched?", "Which board?", "Which person?", "Right number?", "Motion done?",
                "Same decision?", "Steps done?", "Tools in date?",
            ]  # fmt: skip


def test_a_reviewer_looks_opens_and_rejects(reviewer, tmp_path):
    path = make_capture(tmp_path / "a.capture")
    before = path.read_bytes()
    done = at_terminal(reviewer, "x\na\nopen\nrej\n\nrej\nlevels too far apart\n", "review", path)
    assert done.returncode == exits.OK, done.stderr
    assert "Which person?   Sealed by A. Miller, NOT trusted" in done.stdout
    assert '"a" may be accept or ask.' in done.stdout
    assert "Report: " in done.stdout
    assert path.read_bytes().startswith(before)
    told = reviewer("verify", path).stdout
    assert "Rejected by  O. Quist" in told
    assert '"levels too far apart"' in told


def test_a_question_is_sealed_and_is_no_verdict(reviewer, tmp_path):
    path = make_capture(tmp_path / "a.capture")
    done = reviewer("review", path, "--ask", "--because", "was the wheel cold?")
    assert done.returncode == exits.OK, done.stderr
    assert 'Asked and sealed by "O. Quist"' in done.stdout
    told = reviewer("verify", path).stdout
    assert "Asked by     O. Quist" in told
    assert '"was the wheel cold?"' in told
    done = at_terminal(reviewer, "later\n", "review", path)
    assert 'Asked by O. Quist, trusted ("was the wheel cold?")' in " ".join(done.stdout.split())


def test_what_cannot_be_signed_can_be_looked_at(reviewer, tmp_path):
    path = make_capture(tmp_path / "a.capture")
    path.write_bytes(path.read_bytes().replace(b"T-118", b"T-119"))
    done = at_terminal(reviewer, "accept\nlater\n", "review", path)
    assert done.returncode == exits.OK
    assert "It cannot be accepted as it is." in done.stdout
    assert "open, later?" in done.stdout
    assert "DAMAGED OR FORGED" in done.stdout


def test_what_changed_since_it_was_shown_is_not_signed(tmp_path):
    path = make_capture(tmp_path / "a.capture")
    before = path.read_bytes()
    with pytest.raises(SignatureError, match="changed since you were shown"):
        countersign(path, REVIEWER, "accept", "good", TRUST, "00" * 32)
    assert path.read_bytes() == before


def test_the_queue_walks_through_what_waits_and_survives_a_bad_file(reviewer, tmp_path):
    folder = tmp_path / "shop"
    folder.mkdir()
    first, second = make_capture(folder / "a.capture"), make_capture(folder / "b.capture", seed=3)
    (folder / "c.capture").write_bytes(b"hello")
    (folder / "d.capture").write_bytes(without_seals(first.read_bytes()))
    typed = "accept\n\naccept\nthree clean cycles\nlater\n"
    done = at_terminal(reviewer, typed, "review", "--queue", folder)
    assert done.returncode == exits.OK, done.stderr
    assert "Nothing is sealed without your words." in done.stdout  # and another answer may be given
    assert "1 reviewed now, 1 still wait." in done.stdout
    assert "2 of 4 captures wait; 0 reviewed, 1 not sealed, 1 bad." in done.stdout
    assert "c.capture" in done.stdout
    assert "Accepted and sealed" in done.stdout
    again = reviewer("review", "--queue", folder)
    assert "1 of 4 captures wait; 1 reviewed, 1 not sealed, 1 bad." in again.stdout
    assert f"Waits: {second}" in again.stdout
    assert again.returncode == exits.USAGE


@pytest.mark.parametrize(("typed", "code"), [("stop\n", exits.OK), ("\x04", exits.INTERRUPTED)])
def test_the_queue_can_be_left_and_says_what_waits(reviewer, tmp_path, typed, code):
    folder = tmp_path / "shop"
    folder.mkdir()
    make_capture(folder / "a.capture")
    make_capture(folder / "b.capture", seed=3)
    done = at_terminal(reviewer, typed, "review", "--queue", folder)
    assert done.returncode == code, done.stderr
    assert "0 reviewed now, 2 still wait." in done.stdout
    assert "2 of 2\n" not in done.stdout


def test_a_queue_asks_for_the_reviewers_key_before_anything_is_read(rockhold, tmp_path):
    make_capture(tmp_path / "a.capture")
    done = at_terminal(rockhold, "", "review", "--queue", tmp_path)
    assert done.returncode == exits.USAGE
    assert "rockhold keys make" in done.stderr
    assert "Which person?" not in done.stdout


def test_a_slip_in_the_passphrase_costs_no_words(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))
    monkeypatch.delenv("ROCKHOLD_PASSPHRASE", raising=False)
    make_key("O. Quist", "reviewer", "correct horse")
    monkeypatch.setattr(secret, "can_ask", lambda: True)  # the keyboard alone is left out
    typed = iter(["correct house", "correct horse", "one", "two", "three"])
    monkeypatch.setattr("click.termui.hidden_prompt_func", lambda _prompt: next(typed))
    assert secret.signing_key("O. Quist", "reviewer").name == "O. Quist"
    assert "the passphrase is wrong, or the file is damaged; once more" in capsys.readouterr().err
    with pytest.raises(WrongPassphraseError):
        secret.signing_key("O. Quist", "reviewer")
    assert next(typed, None) is None  # asked three times, not for ever


def test_a_strangers_review_takes_nothing_off_the_queue(reviewer, tmp_path):
    (tmp_path / "shop").mkdir()
    path = make_capture(tmp_path / "shop" / "a.capture")
    stranger = Rockhold(tmp_path / "stranger")
    stranger("keys", "make", "Somebody", "--role", "reviewer")
    assert stranger("review", path, "--accept", "--because", "fine").returncode == exits.OK
    assert "1 of 1 captures wait" in reviewer("review", "--queue", tmp_path / "shop").stdout


def test_ending_the_input_signs_nothing(reviewer, tmp_path):
    path = make_capture(tmp_path / "a.capture")
    before = path.read_bytes()
    done = at_terminal(reviewer, "accept\n\x04", "review", path)
    assert done.returncode == exits.INTERRUPTED
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "arguments", [(), ("x.capture", "--queue", "."), ("--queue", ".", "--accept")]
)
def test_what_does_not_fit_is_said(reviewer, arguments):
    assert reviewer("review", *arguments).returncode == exits.USAGE

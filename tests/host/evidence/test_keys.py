import stat

import pytest

from rockhold.errors import KeyStoreError
from rockhold.evidence import keys
from rockhold.evidence.keys import (
    BOARD,
    PASSPHRASE,
    REVIEWER,
    TECHNICIAN,
    make_key,
    retire_key,
    signer,
    stored_keys,
    trust_key,
)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))
    monkeypatch.delenv(PASSPHRASE, raising=False)
    return tmp_path


def test_an_own_key_is_kept_for_its_owner_only(home):
    stored = make_key("A. Miller", TECHNICIAN, "")
    assert stat.S_IMODE(stored.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(stored.path.parent.stat().st_mode) == 0o700
    assert [s.record for s in stored_keys().keys] == [stored.record]
    assert not list(home.rglob("*.new"))


def test_keys_are_never_overwritten_and_names_that_look_alike_do_not_meet():
    make_key("A. Miller", TECHNICIAN, "")
    with pytest.raises(KeyStoreError, match="already"):
        make_key("A. Miller", TECHNICIAN, "")
    make_key("A Miller", TECHNICIAN, "")
    make_key("A. Miller", REVIEWER, "")
    assert len(stored_keys().keys) == 3


@pytest.mark.parametrize("name", ["", "  ", "A\nB", "\x1b[2J"])
def test_a_name_must_be_printable(name):
    with pytest.raises(KeyStoreError, match="name"):
        make_key(name, TECHNICIAN, "")


def test_a_passphrase_is_no_mere_letter():
    with pytest.raises(KeyStoreError, match="at least 8"):
        make_key("A. Miller", TECHNICIAN, "secret")


def test_a_board_makes_its_own_key():
    with pytest.raises(KeyStoreError, match="board makes its own"):
        make_key("board 7", BOARD, "")


def test_damage_to_one_key_takes_no_other_away():
    first = make_key("A. Miller", TECHNICIAN, "")
    make_key("B. Carter", TECHNICIAN, "")
    trust_key(bytes(range(32)), "Board 7", BOARD)
    first.path.write_bytes(b"\xff\0 damaged")
    (first.path.parent / "huge.json").write_text("x" * 100_000)
    (first.path.parent / "folder.json").mkdir()
    store = stored_keys()
    assert [s.record.name for s in store.keys] == ["B. Carter", "Board 7"]
    assert len(store.damaged) == 3
    with pytest.raises(KeyStoreError, match="damaged; put back a copy"):
        signer("A. Miller", TECHNICIAN)
    assert signer("B. Carter", TECHNICIAN).name == "B. Carter"


def test_the_passphrase_comes_from_the_environment_or_is_asked_for(monkeypatch):
    make_key("A. Miller", TECHNICIAN, "right words")
    with pytest.raises(KeyStoreError, match=PASSPHRASE):
        signer("A. Miller", TECHNICIAN)
    asked = []

    def ask(whose, new):
        asked.append((whose, new))
        return "right words"

    assert signer("A. Miller", TECHNICIAN, ask).role == TECHNICIAN
    assert asked == [('"A. Miller", technician', False)]
    monkeypatch.setenv(PASSPHRASE, "wrong")
    with pytest.raises(KeyStoreError, match="passphrase is wrong"):
        signer("A. Miller", TECHNICIAN, ask)
    monkeypatch.setenv(PASSPHRASE, "right words")
    assert signer("A. Miller", TECHNICIAN).name == "A. Miller"


def test_a_key_is_made_at_the_first_use_with_the_passphrase_that_is_asked_for():
    made = signer("A. Miller", TECHNICIAN, lambda whose, new: "new words" if new else "")
    assert stored_keys().keys[0].record.locked
    again = signer("A. Miller", TECHNICIAN, lambda whose, new: "new words")
    assert again.key.as_dict() == made.key.as_dict()


def test_a_retired_key_signs_no_more_and_is_not_trusted_anew():
    retire_key(make_key("A. Miller", TECHNICIAN, ""), "left", stolen=False)
    with pytest.raises(KeyStoreError, match="retired"):
        signer("A. Miller", TECHNICIAN)
    board = trust_key(bytes(range(32)), "Board 7", BOARD)
    assert trust_key(bytes(range(32)), "Board 7", BOARD).path == board.path
    gone = retire_key(board, "stolen from the van", stolen=True)
    assert gone.record.stolen
    with pytest.raises(KeyStoreError, match="retired on"):
        trust_key(bytes(range(32)), "Board 7", BOARD)
    kept = retire_key(gone, "still gone", stolen=False)
    assert kept.record.stolen  # once stolen, always stolen
    assert kept.record.retired_utc == gone.record.retired_utc


def test_keys_are_found_by_name_fingerprint_and_its_beginning():
    stored = make_key("A. Miller", TECHNICIAN, "")
    store = stored_keys()
    for words in ("A. Miller", stored.record.fingerprint, stored.record.fingerprint[:7],
                  stored.record.thumbprint):  # fmt: skip
        assert [s.path for s in store.find(words)] == [stored.path]
    assert store.find("A. M") == []
    assert store.find("A. Miller", REVIEWER) == []


def test_a_disk_that_refuses_says_so(home):
    (home / "own").write_text("a file in the way")
    with pytest.raises(KeyStoreError, match="cannot keep the key"):
        make_key("A. Miller", TECHNICIAN, "")


@pytest.mark.parametrize("platform", ["win32", "linux"])
def test_without_a_home_of_its_own_it_is_the_users(platform, monkeypatch):
    monkeypatch.delenv("ROCKHOLD_HOME")
    monkeypatch.setattr(keys.sys, "platform", platform)
    monkeypatch.setenv("APPDATA", "/somewhere")
    monkeypatch.setenv("XDG_CONFIG_HOME", "/somewhere")
    assert str(keys.home()) == "/somewhere/rockhold"

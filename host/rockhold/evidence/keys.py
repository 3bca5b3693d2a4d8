"""Keys of this computer's people, and keys of others that its user trusts.

They lie in one folder: $ROCKHOLD_HOME, else the user's configuration folder; one file a key, so
that damage to one never touches another. A key that was made here is trusted for the role it was
made for; every other key only once somebody says so.
"""

import dataclasses
import hashlib
import os
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from joserfc.jwk import OKPKey

from rockhold.errors import KeyStoreError
from rockhold.evidence.keyfile import BOARD as BOARD
from rockhold.evidence.keyfile import REVIEWER as REVIEWER
from rockhold.evidence.keyfile import SHORTEST, KeyRecord, from_text, lock, to_text, unlock
from rockhold.evidence.keyfile import TECHNICIAN as TECHNICIAN
from rockhold.files import write_whole
from rockhold.utc import now_utc

PASSPHRASE = "ROCKHOLD_PASSPHRASE"
_OWN = "own"
_TRUSTED = "trusted"
_LARGEST = 1 << 16  # bytes of a key file


@dataclass(frozen=True, slots=True)
class Signer:
    """A key that can sign, and whose it is."""

    key: OKPKey
    name: str
    role: str


@dataclass(frozen=True, slots=True)
class StoredKey:
    """A key and its file; `own` when its secret half is here."""

    path: Path
    record: KeyRecord
    own: bool


@dataclass(frozen=True, slots=True)
class KeyStore:
    """All keys of the folder, and the files that hold none any more.

    Attributes:
        keys: The keys, own ones first.
        damaged: File and what is wrong with it.
    """

    keys: tuple[StoredKey, ...]
    damaged: tuple[tuple[Path, str], ...]

    def find(self, words: str, role: str | None = None) -> list[StoredKey]:
        """Return the keys of a name, a fingerprint (or its beginning) or a thumbprint."""
        digits = words.replace(" ", "").lower()
        return [
            stored
            for stored in self.keys
            if (role is None or stored.record.role == role)
            and (
                words in (stored.record.name, stored.record.thumbprint)
                or (len(digits) >= 4 and _digits(stored.record).startswith(digits))
            )
        ]


def home() -> Path:
    """Return the folder where keys lie."""
    own = os.environ.get("ROCKHOLD_HOME")
    if own:
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", str(Path.home()))) / "rockhold"
    base = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(base) / "rockhold"


def stored_keys() -> KeyStore:
    """Return every key of the folder; a damaged file takes no other key away."""
    keys: list[StoredKey] = []
    damaged: list[tuple[Path, str]] = []
    for folder in (_OWN, _TRUSTED):
        for path in sorted((home() / folder).glob("*.json")):
            try:
                record = from_text(_read(path))
                if (record.secret is not None) != (folder == _OWN):
                    raise ValueError("a key in the wrong folder")
                keys.append(StoredKey(path, record, folder == _OWN))
            except OSError as error:
                damaged.append((path, error.strerror or "cannot be read"))
            except ValueError as error:
                damaged.append((path, str(error)))
    return KeyStore(tuple(keys), tuple(damaged))


def make_key(name: str, role: str, passphrase: str) -> StoredKey:
    """Make a key for a person of this computer; an empty passphrase leaves it open.

    Raises:
        KeyStoreError: When the person has a key for this role, or the disk refuses.
    """
    if role == BOARD:
        raise KeyStoreError("a board makes its own key; trust it with `rockhold keys trust`")
    if not name.strip() or not name.isprintable():
        raise KeyStoreError(f"a key needs a name that can be printed, not {name!r}")
    if 0 < len(passphrase) < SHORTEST:
        raise KeyStoreError(
            f"a passphrase has at least {SHORTEST} characters; a few words that only you would put "
            "together are best"
        )
    key = OKPKey.generate_key(private=True)
    assert key.private_key is not None
    public = key.private_key.public_key().public_bytes_raw()
    record = KeyRecord(name, role, public, now_utc(), lock(key, passphrase))
    path = _place(_OWN, record)
    if path.exists():
        raise KeyStoreError(
            f'there is a key for "{name}", {role}, already, and keys are never overwritten. '
            f"To replace it: `rockhold keys retire`, then move {path} away"
        )
    _write(path, to_text(record))
    return StoredKey(path, record, own=True)


def trust_key(public: bytes, name: str, role: str) -> StoredKey:
    """Trust a key of somebody else for one role from now on.

    Raises:
        KeyStoreError: When the key is retired here, or the disk refuses.
    """
    record = KeyRecord(name, role, public, now_utc())
    for stored in stored_keys().find(record.thumbprint, role):
        if stored.record.retired_utc:
            raise KeyStoreError(
                f"the key {record.fingerprint} was retired on {stored.record.retired_utc} "
                f'("{stored.record.because}"). Delete {stored.path} if that was a mistake'
            )
        return stored
    path = _place(_TRUSTED, record)
    _write(path, to_text(record))
    return StoredKey(path, record, own=False)


def retire_key(stored: StoredKey, because: str, stolen: bool) -> StoredKey:
    """Take back the trust in a key from now on, or for all time when it was stolen.

    Raises:
        KeyStoreError: When the disk refuses.
    """
    since = stored.record.retired_utc or now_utc()
    record = dataclasses.replace(
        stored.record, retired_utc=since, stolen=stolen or stored.record.stolen, because=because
    )
    _write(stored.path, to_text(record))
    return dataclasses.replace(stored, record=record)


def signer(name: str, role: str, ask: Callable[[str, bool], str] | None = None) -> Signer:
    """Return this computer's key for a person in a role; made at the first use.

    Args:
        name: The person.
        role: The person's role.
        ask: Asks for the passphrase of a key, told in words whose, and whether it is a new one.
            Without it ROCKHOLD_PASSPHRASE is used, and a new key without either stays open.

    Raises:
        KeyStoreError: When the key cannot be read, opened or made.
    """
    whose = f'"{name}", {role}'
    found = [s for s in stored_keys().find(name, role) if s.own and s.record.name == name]
    given = os.environ.get(PASSPHRASE)
    if not found:
        damaged = _place(_OWN, KeyRecord(name, role, b"", ""))
        if damaged.exists():
            raise KeyStoreError(f"the key in {damaged} is damaged; put back a copy of it")
        new = given if given is not None else ask(whose, True) if ask else ""
        found = [make_key(name, role, new)]
        given = new
    record = found[0].record
    if record.retired_utc:
        raise KeyStoreError(f"the key of {whose} was retired on {record.retired_utc}")
    if record.locked and given is None:
        if ask is None:
            raise KeyStoreError(f"the key of {whose} needs its passphrase: set {PASSPHRASE}")
        given = ask(whose, False)
    return Signer(unlock(record, given or ""), name, role)


def _digits(record: KeyRecord) -> str:
    return record.fingerprint.replace(" ", "")


def _place(folder: str, record: KeyRecord) -> Path:
    # Own keys by name: one a person and role. Keys of others by themselves: names may repeat.
    plain = re.sub(r"[^a-z0-9]+", "-", record.name.lower()).strip("-")[:40] or "someone"
    tail = (
        hashlib.sha256(record.name.encode()).hexdigest()[:6] if folder == _OWN else _digits(record)
    )
    return home() / folder / f"{record.role}-{plain}-{tail}.json"


def _read(path: Path) -> str:
    with path.open("rb") as file:
        data = file.read(_LARGEST + 1)
    if len(data) > _LARGEST:
        raise ValueError("far too long for a key")
    return data.decode()


def _write(path: Path, text: str) -> None:
    """Keep a key; only its owner can read it."""
    try:
        write_whole(path, text.encode(), mode=0o600)
    except OSError as error:
        raise KeyStoreError(f"cannot keep the key in {path}: {error.strerror}") from error

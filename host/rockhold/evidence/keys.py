"""Keys of this computer's people, and keys of others that its user trusts.

They lie in one folder: $ROCKHOLD_HOME, else the user's configuration folder. A key that was made
here is trusted for the role it was made for; every other key only once somebody pins it.
"""

import json
import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path

from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from rockhold.errors import RockholdError

TECHNICIAN = "technician"
REVIEWER = "reviewer"
BOARD = "board"


def home() -> Path:
    """Return the folder where keys lie."""
    own = os.environ.get("ROCKHOLD_HOME")
    if own:
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", str(Path.home()))) / "rockhold"
    base = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(base) / "rockhold"


@dataclass(frozen=True, slots=True)
class Signer:
    """A key that can sign, and whose it is."""

    key: OKPKey
    name: str
    role: str


def signer(name: str, role: str) -> Signer:
    """Return this computer's key for a person in a role; made at the first use.

    Raises:
        RockholdError: When the key cannot be read or made.
    """
    path = home() / "own" / f"{role}-{_slug(name)}.json"
    try:
        if path.exists():
            stored = json.loads(path.read_text(encoding="utf-8"))
            return Signer(OKPKey.import_key(stored["jwk"]), str(stored["name"]), role)
        key = OKPKey.generate_key("Ed25519", private=True)
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        text = json.dumps({"name": name, "role": role, "jwk": key.as_dict(private=True)})
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(text + "\n")
        return Signer(key, name, role)
    except OSError as error:
        raise RockholdError(f"cannot use the key in {path}: {error.strerror}") from error
    except (JoseError, ValueError, KeyError) as error:
        raise RockholdError(f"the key in {path} is damaged; put back a copy of it") from error


def trusted() -> dict[tuple[str, str], str]:
    """Return the trusted keys: (thumbprint, role) → the name they are trusted as."""
    names: dict[tuple[str, str], str] = {}
    for path in sorted((home() / "own").glob("*.json")):
        try:
            stored = json.loads(path.read_text(encoding="utf-8"))
            key = OKPKey.import_key(stored["jwk"])
            names[key.thumbprint(), str(stored["role"])] = str(stored["name"])
        except (OSError, JoseError, ValueError, KeyError):
            continue  # one damaged key does not take the others' trust away
    return names


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "someone"

"""Whether a file is an older one with lines added, as a review adds them."""

import hashlib
from pathlib import Path

from rockhold.capture.reader import LARGEST


def is_grown_from(path: Path, size_bytes: int, sha256: str | None) -> bool:
    """Say whether the first bytes of a file are a file that was known by its size and SHA-256."""
    if not sha256 or not 0 < size_bytes <= LARGEST:
        return False
    try:
        with path.open("rb") as file:
            start = file.read(size_bytes + 1)
    except OSError:
        return False
    return len(start) > size_bytes and hashlib.sha256(start[:size_bytes]).hexdigest() == sha256

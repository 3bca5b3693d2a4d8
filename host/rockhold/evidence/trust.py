"""Whom the user of this computer trusts, and whether that covers a seal."""

from collections.abc import Mapping
from dataclasses import dataclass

from rockhold.evidence.keys import KeyStore


@dataclass(frozen=True, slots=True)
class Trusted:
    """A trusted key, as far as judging a seal needs it.

    Attributes:
        name: Whose it is, in the words of the person who trusted it.
        retired_utc: Since when it does not sign any more, "" while it does.
        stolen: Whether no seal of it counts.
    """

    name: str
    retired_utc: str = ""
    stolen: bool = False


Trust = Mapping[tuple[str, str], Trusted]  # (thumbprint, role) → who


@dataclass(frozen=True, slots=True)
class Judgement:
    """Whether a key is trusted, as whose, and what must be said about it."""

    trusted: bool
    known_as: str
    remark: str


def trust_of(store: KeyStore) -> dict[tuple[str, str], Trusted]:
    """Return the trusted keys of a folder of keys."""
    trust: dict[tuple[str, str], Trusted] = {}
    for stored in store.keys:
        record = stored.record
        known = trust.get((record.thumbprint, record.role))
        new = Trusted(record.name, record.retired_utc, record.stolen)
        # The same key may lie here twice, as one's own and as trusted; a retirement counts.
        if known is None or new.stolen or (new.retired_utc and not known.stolen):
            trust[record.thumbprint, record.role] = new
    return trust


def judge(trust: Trust, thumbprint: str, role: str, signed_utc: str) -> Judgement:
    """Say whether a seal's key is trusted for its role.

    Args:
        trust: The trusted keys.
        thumbprint: Of the key that signed, computed from the key itself.
        role: What the signer says to be.
        signed_utc: When the signer says it was; compared with the day of retirement only.
    """
    who = trust.get((thumbprint, role))
    if who is None:
        others = [known.name for (key, _), known in trust.items() if key == thumbprint]
        roles = [part for key, part in trust if key == thumbprint]
        if others:
            return Judgement(False, others[0], f"trusted as {roles[0]} only, not as {role}")
        return Judgement(False, "", "nobody here trusts this key")
    if who.stolen:
        return Judgement(False, who.name, f"key reported stolen on {who.retired_utc}")
    if who.retired_utc and signed_utc > who.retired_utc:
        return Judgement(False, who.name, f"made after the key was retired on {who.retired_utc}")
    if who.retired_utc:
        return Judgement(
            True, who.name, f"key retired on {who.retired_utc}; the seal's own date is earlier"
        )
    return Judgement(True, who.name, "")

from pathlib import Path

from rockhold.evidence.keyfile import KeyRecord
from rockhold.evidence.keys import KeyStore, StoredKey
from rockhold.evidence.trust import Trusted, judge, trust_of

KEY = bytes(range(32))


def stored(**facts):
    record = KeyRecord(
        **{"name": "A", "role": "technician", "public": KEY, "since_utc": ""} | facts
    )
    return StoredKey(Path("x"), record, own=False)


def test_trust_is_by_key_and_role():
    trust = trust_of(KeyStore((stored(), stored(role="reviewer", name="B")), ()))
    key = stored().record.thumbprint
    assert trust == {(key, "technician"): Trusted("A"), (key, "reviewer"): Trusted("B")}
    assert judge(trust, key, "technician", "").trusted
    assert judge(trust, "another", "technician", "").remark == "nobody here trusts this key"
    only = judge({(key, "reviewer"): Trusted("B")}, key, "technician", "")
    assert (only.trusted, only.known_as) == (False, "B")


def test_a_key_that_is_known_in_other_roles_is_named_by_the_first():
    trust = {("k", "technician"): Trusted("A"), ("k", "reviewer"): Trusted("B")}
    found = judge(trust, "k", "board", "")
    assert (found.trusted, found.known_as) == (False, "A")
    assert found.remark == "trusted as technician only, not as board"


def test_of_two_entries_for_a_key_the_worse_counts():
    plain, retired = stored(), stored(retired_utc="2026-01-01T00:00:00Z")
    stolen = stored(retired_utc="2025-01-01T00:00:00Z", stolen=True)
    key = plain.record.thumbprint
    for entries in ((plain, retired, stolen), (stolen, retired, plain), (retired, stolen, plain)):
        assert trust_of(KeyStore(entries, ()))[key, "technician"].stolen
    for entries in ((plain, retired), (retired, plain)):
        assert trust_of(KeyStore(entries, ()))[key, "technician"].retired_utc


def test_the_day_of_retirement_divides_the_seals():
    trust = {("k", "board"): Trusted("7", retired_utc="2026-06-01T00:00:00Z")}
    before = judge(trust, "k", "board", "2026-05-31T23:59:59Z")
    after = judge(trust, "k", "board", "2026-06-01T00:00:01Z")
    assert (before.trusted, after.trusted) == (True, False)
    assert "earlier" in before.remark

"""Two hundred seeds of `faults.py`; `make faults` runs ten thousand."""

import faults


def test_seeded_lives_lose_nothing_without_saying_so():
    totals = faults.run(first=100_100, number=200)
    assert totals["seeds"] == 200
    # The seeds did meet each kind of trouble.
    for kind in ("corrupt", "drop", "double", "swap", "stall", "unplug", "half_open", "kill"):
        assert totals[kind] > 20, kind
    for kind in ("disk_full", "sleep", "jump", "cut by a reset"):
        assert totals[kind] > 5, kind
    assert totals["told as dropped"] > 0


def test_a_seed_replays_exactly(tmp_path):
    first = faults.live(7, tmp_path)
    data = first[1].read_bytes()
    first[1].unlink()
    first[0].board.end()
    second = faults.live(7, tmp_path)
    assert first[0].t_us == second[0].t_us
    assert first[0].faults.seen == second[0].faults.seen
    # Capture id, nonce and the day's date come from the computer; all else is the same.
    assert len(second[1].read_bytes()) == len(data)

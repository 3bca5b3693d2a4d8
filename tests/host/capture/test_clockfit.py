import numpy as np
import pytest

from rockhold.capture.clockfit import fit_clock

UTC_0 = 1_790_000_000_000_000
STEADY_0 = 5_000_000_000


def requests(rng, seconds, drift_ppm, delay_us, board_0=0):
    """Rows as a recorder stores them, and the true host time of each board time."""
    true_us = np.sort(rng.uniform(0, seconds * 1e6, max(3, int(seconds / 5))))
    board = np.round(board_0 + true_us / (1 + drift_ppm * 1e-6))
    sent = true_us - rng.uniform(100, delay_us, len(true_us))
    received = true_us + rng.uniform(100, delay_us, len(true_us))
    rows = np.stack([STEADY_0 + sent, board, STEADY_0 + received, UTC_0 + received], axis=1)
    return np.round(rows).astype(np.int64), true_us, board


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("drift_ppm", [-80.0, 0.0, 35.0])
def test_every_time_is_within_the_stated_bound(seed, drift_ppm):
    rng = np.random.default_rng(seed)
    rows, true_us, board = requests(rng, 600, drift_ppm, 4_000, board_0=1 << 33)
    clock = fit_clock(rows)
    assert clock.bound_us < 8_500
    error = [clock.utc_us(int(b)) - (UTC_0 + t) for b, t in zip(board, true_us, strict=True)]
    assert np.max(np.abs(error)) <= clock.bound_us + 2
    # 4 ms of delay each way over ten minutes: a crystal's drift is known to a few ppm.
    assert clock.drift_ppm == pytest.approx(drift_ppm, abs=8)
    assert clock.jumps == ()


def test_too_short_to_tell_a_drift():
    rng = np.random.default_rng(1)
    rows, _, _ = requests(rng, 5, 50.0, 2_000)
    assert fit_clock(rows).drift_ppm is None


def test_one_request_gives_an_offset_and_its_bound():
    clock = fit_clock(np.array([[100, 7, 300, UTC_0]]))
    assert (clock.requests, clock.bound_us) == (1, 100)
    assert clock.utc_us(7) == UTC_0 - 100


def test_a_host_clock_that_is_set_in_between_moves_nothing_and_is_told():
    rng = np.random.default_rng(2)
    rows, true_us, board = requests(rng, 300, 20.0, 2_000)
    rows[30:, 3] += 3_600_000_000
    clock = fit_clock(rows)
    (jump,) = clock.jumps
    assert jump.board_us == board[30]
    assert jump.by_us == pytest.approx(3_600_000_000, abs=2)  # each column is rounded by itself
    assert abs(clock.utc_us(int(board[-1])) - (UTC_0 + true_us[-1])) <= clock.bound_us + 2

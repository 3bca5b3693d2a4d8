"""Torque pulls as a careful person does them, for tests and the bench."""

import numpy as np

from rockhold.simulator.wrench import DIAL, Adapter, Pull, pull_stream

TARGET_NM = 271.0  # 200 lbf·ft


def careful_pulls(kind, rate_hz, seed, count, step_nm):
    """One stream of pulls loaded as ISO 6789 wants it (from memory), and the truth."""
    rng = np.random.default_rng(seed)
    pulls, at_s = [], 1.5
    for _ in range(count):
        pulls.append(
            Pull(
                at_s,
                TARGET_NM * rng.uniform(0.97, 1.05),
                kind,
                rise_s=rng.uniform(2, 4),
                dwell_s=rng.uniform(0.25, 0.8) if kind == DIAL else rng.uniform(0.05, 0.4),
                fall_s=rng.uniform(0.08, 0.3),
                drop=rng.uniform(0.08, 0.3),
                follow=rng.uniform(-0.1, 0.04),
            )
        )
        at_s = pulls[-1].end_s + rng.uniform(0.5, 2)
    adapter = Adapter(
        rate_hz,
        noise_nm=0.001 * TARGET_NM,
        offset_nm=0.02 * TARGET_NM,
        drift_nm_per_min=0.003 * TARGET_NM,
        handling_nm=0.02 * TARGET_NM,
        step_nm=step_nm,
    )
    return pull_stream(pulls, adapter, at_s + 1, seed)

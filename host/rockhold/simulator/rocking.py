"""A wheel that is rocked and held, as a motion sensor on the hub sees it."""

import numpy as np

from rockhold.simulator.motion import GRID_HZ, Motion
from rockhold.simulator.spin import RATE_HZ, HubMotion

HAND_DEG_S = 0.8  # how much a hand that holds the tyre trembles; a guess
NOISE_DEG_S, NOISE_MG = 0.3, 6.0
_STEP = round(GRID_HZ / RATE_HZ)


def hub_motion(motion: Motion, seed: int, bias_deg_s: float = 1.5) -> HubMotion:
    """Return the sensor's samples during a technician's motion, on the same time.

    Args:
        motion: What the technician does.
        seed: Of the sensor's noise; any whole number of zero or more.
        bias_deg_s: What the sensor shows at rest.
    """
    rng = np.random.default_rng(seed)
    angle_deg = np.degrees(motion.angle_rad)
    rate = np.gradient(angle_deg) * GRID_HZ + HAND_DEG_S * motion.tremor
    rate, angle_deg = rate[::_STEP], angle_deg[::_STEP]
    shown = rate + bias_deg_s + rng.normal(0, NOISE_DEG_S, len(rate))
    shock = 1000 * np.sin(np.radians(angle_deg)) + rng.normal(0, NOISE_MG, len(rate))
    return HubMotion(np.round(motion.t_s[::_STEP] * 1e6).astype(np.int64), shown, shock, angle_deg)

"""A simulated wheel that is spun by hand and let run, as a motion sensor on the hub sees it.

    motion = spin(Spin(catch_deg=400.0), start_s=3.0, length_s=20.0, seed=1)
    motion.t_us, motion.turn_deg_s, motion.shock_mg      # 100 samples a second
    motion.angle_deg                                     # the truth

The wheel slows by friction of the bearing and seal; a tyre that is out of balance swings it, so
that it does not slow evenly within one turn and swings back at the end. That is no fault.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RATE_HZ = 100
_FINE = 10  # steps of the arithmetic for each sample
_RAW_PER_DEG_S = 65.5  # ±500 °/s on 16 bits; see the board's sources/motion.py
_RAW_PER_G = 2048.0  # ±16 g
_LARGEST = 32_767


@dataclass(frozen=True, slots=True)
class Spin:
    """How the wheel is spun and what is wrong with it.

    Attributes:
        speed_deg_s: How fast it turns when the hand lets go.
        push_s: How long the hand takes to bring it there.
        friction_deg_s2: Slowing that is always there.
        viscous_per_s: Slowing that grows with the speed.
        unbalance_deg_s2: Largest pull of gravity on an unbalanced tyre.
        catch_deg: Angle after letting go at which the wheel catches; 0 for none.
        catch_share: Share of its speed that it loses there.
        stop_deg: Angle at which it stops dead; 0 for none.
        knock_deg: Angle at which something knocks; 0 for none.
        knock_mg: Size of that knock, and of the one that goes with a catch or stop, in mg.
        bias_deg_s: What the sensor shows at rest.
        noise_deg_s: Standard deviation of a sample.
    """

    speed_deg_s: float = 240.0
    push_s: float = 1.2
    friction_deg_s2: float = 12.0
    viscous_per_s: float = 0.03
    unbalance_deg_s2: float = 0.0
    catch_deg: float = 0.0
    catch_share: float = 0.3
    stop_deg: float = 0.0
    knock_deg: float = 0.0
    knock_mg: float = 900.0
    bias_deg_s: float = 1.5
    noise_deg_s: float = 0.3


@dataclass(frozen=True, slots=True)
class HubMotion:
    """Samples of the sensor, and the truth.

    Attributes:
        t_us: Time of each sample, in µs.
        turn_deg_s: Turning rate as the sensor shows it.
        shock_mg: Acceleration along one axis, in mg.
        angle_deg: True angle since the start.
    """

    t_us: Ints
    turn_deg_s: Floats
    shock_mg: Floats
    angle_deg: Floats

    def raw_turn(self) -> list[int]:
        """Return the sensor's own numbers for the turning rate, 16 bits with sign."""
        return _raw(self.turn_deg_s * _RAW_PER_DEG_S)

    def raw_shock(self) -> list[int]:
        """Return the sensor's own numbers for the acceleration, 16 bits with sign."""
        return _raw(self.shock_mg / 1000 * _RAW_PER_G)


def _raw(values: Floats) -> list[int]:
    out: list[int] = np.clip(np.rint(values), -_LARGEST, _LARGEST).astype(np.int64).tolist()
    return out


def spin(how: Spin, start_s: float, length_s: float, seed: int) -> HubMotion:
    """Return the samples from the moment when the hand begins to push.

    Args:
        how: Wheel, hand and faults.
        start_s: Time of the first sample, in seconds.
        length_s: How long, in seconds.
        seed: Any whole number of zero or more.
    """
    rng = np.random.default_rng(seed)
    count = round(length_s * RATE_HZ)
    rate, angle, knocks = _run(how, count, rng.uniform(0, 2 * np.pi))
    times = start_s + np.arange(count) / RATE_HZ
    shown = rate + how.bias_deg_s + rng.normal(0, how.noise_deg_s, count)
    gravity = 1000 * np.sin(np.radians(angle))
    shock = gravity + rng.normal(0, 6.0, count)
    for at in knocks:
        shock[at] += how.knock_mg
    return HubMotion(np.round(times * 1e6).astype(np.int64), shown, shock, angle)


def turns(
    parts: tuple[tuple[float, float, float], ...], length_s: float, seed: int, bias_deg_s: float = 1
) -> HubMotion:
    """Return the samples of a wheel that is turned by hand now and then.

    Args:
        parts: (start in s, end in s, turns) of each turning.
        length_s: How long in all, in seconds, from 0.
        seed: Any whole number of zero or more.
        bias_deg_s: What the sensor shows at rest.
    """
    rng = np.random.default_rng(seed)
    count = round(length_s * RATE_HZ)
    t_s = np.arange(count) / RATE_HZ
    rate = np.zeros(count)
    for start_s, end_s, revolutions in parts:
        local = np.clip((t_s - start_s) / (end_s - start_s), 0, 1)
        rate += 360 * revolutions / (end_s - start_s) * (1 - np.cos(2 * np.pi * local))
    angle = np.cumsum(rate) / RATE_HZ
    shown = rate + bias_deg_s + rng.normal(0, 0.3, count)
    shock = 1000 * np.sin(np.radians(angle)) + rng.normal(0, 6.0, count)
    return HubMotion(np.round(t_s * 1e6).astype(np.int64), shown, shock, angle)


def _run(how: Spin, count: int, heavy_rad: float) -> tuple[Floats, Floats, list[int]]:
    """Return rate in °/s, angle in degrees, and the samples at which something knocked."""
    rate, angle, freed = 0.0, 0.0, 0.0
    rates, angles = np.zeros(count), np.zeros(count)
    knocks: list[int] = []
    events = {"catch": how.catch_deg, "stop": how.stop_deg, "knock": how.knock_deg}
    waiting = {name for name, at_deg in events.items() if at_deg}
    step_s = 1 / (RATE_HZ * _FINE)
    dead = False
    for index in range(count * _FINE):
        at = index // _FINE
        if index * step_s < how.push_s:
            rate += how.speed_deg_s / how.push_s * step_s
            freed = angle
        elif not dead:
            rate = _slower(rate, angle, how, heavy_rad, step_s)
        for name in sorted(waiting):
            if index * step_s >= how.push_s and angle - freed >= events[name]:
                waiting.discard(name)
                knocks.append(at)
                rate *= {"catch": 1 - how.catch_share, "stop": 0.0, "knock": 1.0}[name]
                dead = dead or name == "stop"
        angle += rate * step_s
        rates[at], angles[at] = rate, angle
    return rates, angles, knocks


def _slower(rate: float, angle: float, how: Spin, heavy_rad: float, step_s: float) -> float:
    pull = -how.unbalance_deg_s2 * float(np.sin(np.radians(angle) - heavy_rad))
    drag = (how.friction_deg_s2 + how.viscous_per_s * abs(rate)) * step_s
    pushed = rate + pull * step_s
    return 0.0 if abs(pushed) <= drag else pushed - float(np.sign(pushed)) * drag

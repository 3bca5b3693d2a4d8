"""A simulated person at a torque wrench: pulls, what an adapter reads of them, and the truth.

    stream = pull_stream([Pull(2.0, 271.0), Pull(6.0, 271.0)], Adapter(rate_hz=80), 10.0, seed=1)
    stream.t_us, stream.torque_nm          # what the adapter sends
    stream.truth[0].peak_nm                # what really happened

`rockhold.simulator.wires` turns a stream into text lines or converter words for the real board.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CLICK = "click"
DIAL = "dial"
_TRUTH_HZ = 10_000
_DROP_S = 0.008  # how long a click wrench takes to let go
_LOW_S = 0.012
_BACK_S = 0.04
_TREMOR_HZ = 8.0


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull, from a relaxed wrench to a relaxed wrench.

    Attributes:
        start_s: When the pull begins, in seconds.
        peak_nm: Where the wrench clicks, or where the person reads enough and stops.
        kind: "click" (setting type) or "dial" (dial or electronic type).
        rise_s: Time from nothing to the peak; the last fifth takes about a third of it.
        dwell_s: How long the torque stays after the peak (dial) or after the click.
        fall_s: Time from there to nothing.
        drop: Share of the torque that is gone for a moment when the wrench clicks.
        follow: How far the hand pulls on after the click, as a share of the peak; below 0 for a
            hand that stops at once.
        eased: Share of the peak to which the person eases off in mid-pull before pulling on; 0
            for a pull in one go.
    """

    start_s: float
    peak_nm: float
    kind: str = CLICK
    rise_s: float = 2.0
    dwell_s: float = 0.25
    fall_s: float = 0.15
    drop: float = 0.2
    follow: float = -0.05
    eased: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in (CLICK, DIAL):
            raise ValueError(f"unknown kind of wrench {self.kind!r}; use click or dial")

    @property
    def end_s(self) -> float:
        """When the wrench is relaxed again, in seconds."""
        return self.start_s + float(self.knots()[0][-1])

    def knots(self) -> tuple[Floats, Floats]:
        """Return times from the start and torques between which the pull runs straight."""
        x = np.linspace(0, 1, 60)
        bend = 1.5 if self.kind == DIAL else 1.15
        rise = 1 - (1 - x) ** bend
        times, torques = list(self.rise_s * x), list(rise * self.peak_nm)
        if self.eased:
            middle = len(x) // 2  # ease off and pull on, at half the rise
            level, pause_s = torques[middle], 0.35
            later = [t + pause_s for t in times[middle:]]
            times = [*times[: middle + 1], times[middle] + pause_s / 2, *later]
            torques = [*torques[: middle + 1], level * self.eased, *torques[middle:]]
        if self.kind == CLICK:
            for after_s, level in (
                (_DROP_S, 1 - self.drop),
                (_LOW_S, 1 - self.drop),
                (_BACK_S, 1 + self.follow),
            ):
                times.append(times[-1] + after_s)
                torques.append(level * self.peak_nm)
        times += [times[-1] + self.dwell_s, times[-1] + self.dwell_s + self.fall_s]
        torques += [torques[-1], 0.0]
        return np.array(times), np.array(torques)


@dataclass(frozen=True, slots=True)
class Adapter:
    """A torque adapter or transducer and what disturbs it; torques in N·m.

    Attributes:
        rate_hz: Mean readings per second.
        jitter: Standard deviation of the spacing, relative to the mean spacing.
        noise_nm: Standard deviation of one reading.
        offset_nm: What it shows with nothing on it.
        drift_nm_per_min: How fast that wanders.
        step_nm: One count of its digits.
        handling_nm: Size of what it shows while it is carried, put on and knocked; 0 for none.
        tremor: Amplitude of the hand's tremor, as a share of the torque.
    """

    rate_hz: float = 80.0
    jitter: float = 0.05
    noise_nm: float = 0.15
    offset_nm: float = 0.0
    drift_nm_per_min: float = 0.0
    step_nm: float = 0.01
    handling_nm: float = 0.0
    tremor: float = 0.002


@dataclass(frozen=True, slots=True)
class TruePull:
    """What really happened in one pull; times in µs of the stream."""

    start_us: int
    peak_us: int
    peak_nm: float
    end_us: int


@dataclass(frozen=True, slots=True)
class TorqueStream:
    """What the adapter sends, and the truth behind it.

    Attributes:
        t_us: Time of each reading, in µs.
        torque_nm: What it shows, in N·m.
        truth: The pulls in order of time.
    """

    t_us: Ints
    torque_nm: Floats
    truth: tuple[TruePull, ...]


def pull_stream(
    pulls: Sequence[Pull], adapter: Adapter, length_s: float, seed: int
) -> TorqueStream:
    """Return the readings of a stretch of work; the same seed gives the same readings.

    Args:
        pulls: In the order of time, none over another.
        adapter: What reads them.
        length_s: Length of the stretch, in seconds, from 0.
        seed: Any whole number of zero or more.
    """
    rng = np.random.default_rng(seed)
    spacing_s = 1 / adapter.rate_hz
    count = int(length_s * adapter.rate_hz * 1.2) + 10
    steps = np.clip(rng.normal(spacing_s, adapter.jitter * spacing_s, count), 0.2 * spacing_s, None)
    times = np.cumsum(steps)
    t_us = np.round(times[times < length_s] * 1e6).astype(np.int64)
    t_s = t_us / 1e6
    phase = rng.uniform(0, 2 * np.pi)
    torque = _torque(pulls, t_s, adapter.tremor, phase)
    torque += _handling(pulls, adapter.handling_nm, t_s, rng)
    torque += adapter.offset_nm + adapter.drift_nm_per_min * t_s / 60
    torque += rng.normal(0, adapter.noise_nm, len(t_s))
    shown = np.floor(torque / adapter.step_nm + 0.5) * adapter.step_nm
    truth = tuple(_truth(pull, adapter.tremor, phase) for pull in pulls)
    return TorqueStream(t_us, np.round(shown, 9), truth)


def _torque(pulls: Sequence[Pull], t_s: Floats, tremor: float, phase: float) -> Floats:
    torque = np.zeros(len(t_s))
    for pull in pulls:
        times, torques = pull.knots()
        first, last = np.searchsorted(t_s, [pull.start_s, pull.end_s])
        torque[first:last] += np.interp(t_s[first:last] - pull.start_s, times, torques)
    shaking: Floats = 1 + tremor * np.sin(2 * np.pi * _TREMOR_HZ * t_s + phase)
    return torque * shaking


def _truth(pull: Pull, tremor: float, phase: float) -> TruePull:
    grid = np.arange(pull.start_s, pull.end_s, 1 / _TRUTH_HZ)
    torque = _torque([pull], grid, tremor, phase)
    at = int(np.argmax(torque))
    return TruePull(
        round(pull.start_s * 1e6),
        round(float(grid[at]) * 1e6),
        float(torque[at]),
        round(pull.end_s * 1e6),
    )


def _handling(
    pulls: Sequence[Pull], size_nm: float, t_s: Floats, rng: np.random.Generator
) -> Floats:
    """Return what carrying, setting down and knocking the wrench shows, none of it in a pull."""
    out = np.zeros(len(t_s))
    if not size_nm or not len(t_s):
        return out
    at = 0.5
    while at < t_s[-1]:
        length_s = float(rng.choice([rng.uniform(0.005, 0.03), rng.uniform(0.05, 0.4)]))
        first, last = np.searchsorted(t_s, [at, at + length_s])
        height = size_nm * rng.uniform(-1, 1)
        local = (t_s[first:last] - at) / length_s
        out[first:last] += height * np.sin(np.pi * local)
        at += length_s + rng.exponential(0.8)
    for pull in pulls:
        first, last = np.searchsorted(t_s, [pull.start_s, pull.end_s])
        out[first:last] = 0.0
    return out

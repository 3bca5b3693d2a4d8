"""Pulls found, missed and false, and the error of their peaks, beside scipy.signal.find_peaks.

    python tests/bench/torque.py

Both see the same simulated streams: careful pulls to 271 N·m (200 lbf·ft) with noise, offset, drift
and handling, and an hour of handling alone. find_peaks gets what suits it best: it is told the
target, a peak must stand out by as much as our pulls must reach, and half a second parts two peaks.
"""

import time

import numpy as np
from scipy.signal import find_peaks

from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.pulls import find_pulls
from rockhold.simulator.wrench import CLICK, DIAL, Adapter, pull_stream
from support_pulls import TARGET_NM, careful_pulls

RATES = (10, 80, 500)
LIMITS = PullLimits.for_target(TARGET_NM)


def ours(t_us, torque_nm):
    """Return times in µs and peaks in N·m."""
    found = find_pulls(t_us, torque_nm, LIMITS)
    return [(pull.peak_us, pull.peak_nm) for pull in found]


def peer(t_us, torque_nm):
    """Return the same by scipy.signal.find_peaks, above the usual small indication."""
    value = torque_nm - np.median(torque_nm[torque_nm < LIMITS.start_nm])
    apart = max(1, round(0.5e6 / float(np.median(np.diff(t_us)))))
    at, _ = find_peaks(value, height=LIMITS.least_nm, prominence=LIMITS.least_nm, distance=apart)
    return [(int(t_us[i]), float(value[i])) for i in at]


def compare(found, truth):
    """Return how many true pulls were missed, how many are false, and the errors in per cent."""
    errors, taken, false = [], set(), 0
    for at_us, peak_nm in found:
        fits = [
            index
            for index, true in enumerate(truth)
            if true.start_us <= at_us <= true.end_us and index not in taken
        ]
        if fits:
            taken.add(fits[0])
            errors.append(100 * (peak_nm / truth[fits[0]].peak_nm - 1))
        else:
            false += 1
    return len(truth) - len(taken), false, errors


def study(method, kind, rate_hz, seeds):
    """Return (pulls, missed, false, errors) over several streams."""
    total, missed, false, errors = 0, 0, 0, []
    for seed in range(seeds):
        stream = careful_pulls(kind, rate_hz, seed, count=12, step_nm=0.1)
        lost, wrong, off = compare(method(stream.t_us, stream.torque_nm), stream.truth)
        total, missed, false = total + len(stream.truth), missed + lost, false + wrong
        errors += off
    return total, missed, false, np.array(errors)


def main():
    """Print the tables."""
    print("pulls  wrench  rate    method      missed  false   rms %   largest %   within 0.5 %")
    for kind in (DIAL, CLICK):
        for rate_hz in RATES:
            for name, method in (("ours", ours), ("find_peaks", peer)):
                total, missed, false, errors = study(method, kind, rate_hz, 20)
                size = np.abs(errors)
                print(
                    f"{total:5}  {kind:6} {rate_hz:5}/s  {name:10} {missed:7} {false:6}"
                    f" {np.sqrt((errors**2).mean()):7.2f} {size.max():11.2f}"
                    f" {100 * (size < 0.5).mean():12.1f} %"
                )
    print("\nan hour of handling (±60 N·m knocks and pushes), no pull in it")
    for rate_hz in RATES:
        stream = pull_stream([], Adapter(rate_hz, offset_nm=3.0, handling_nm=60.0), 3600.0, 1)
        for name, method in (("ours", ours), ("find_peaks", peer)):
            began_s = time.perf_counter()
            false = len(method(stream.t_us, stream.torque_nm))
            took_s = time.perf_counter() - began_s
            print(f"{rate_hz:5}/s  {name:10} {false:4} false pulls   {1000 * took_s:8.1f} ms")


if __name__ == "__main__":
    main()

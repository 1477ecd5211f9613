"""Speed and memory of clock and rotation, against a general-purpose orientation filter.

python benchmarks/bench_hinge.py
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np

from feltload.signal.clock.joining import join_clock
from feltload.signal.hinge.estimator import estimate_hinge
from rig_orientation_filter import filter_angle


def speed():
    print("| samples | seconds of data | clock, s | hinge, s | filter, s | peak memory, MB |")
    print("| --- | --- | --- | --- | --- | --- |")
    for rate, length in ((100.0, 60.0), (833.0, 60.0), (833.0, 600.0), (833.0, 3600.0)):
        times, gyro, accel, host = plain_rig(rate, length)
        rows = []
        # Processor time; other work on the machine slows single runs of short records.
        for _ in range(9 if length < 100.0 else 1):
            marks = [time.process_time()]
            joined = join_clock(host, times).time_s
            marks.append(time.process_time())
            motion = estimate_hinge(joined, gyro, accel)
            marks.append(time.process_time())
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            filter_angle(times, gyro, accel, motion.parameters.axis)
            marks.append(time.process_time())
            rows.append(np.diff(marks))
        steps = np.median(rows, axis=0)
        print(
            f"| {len(times)} | {length:.0f} | {steps[0]:.3f} | {steps[1]:.3f} | {steps[2]:.3f} | {peak:.0f} |",
            flush=True,
        )


def plain_rig(rate, length):
    rng = np.random.default_rng(1)
    times = np.arange(0.0, length, 1.0 / rate)
    after = np.maximum(times - 2.0, 0.0)
    q = 0.6 * (1.0 - np.cos(2 * np.pi * after / 4.0))
    w = np.gradient(q, times)
    gyro = np.stack([np.zeros_like(w), np.zeros_like(w), w], 1) * 0.99 + 0.005
    accel = 9.81 * np.stack([np.cos(q), -np.sin(q), np.zeros_like(q)], 1)
    gyro += rng.normal(0.0, 0.0015, gyro.shape)
    accel += rng.normal(0.0, 0.02, accel.shape)
    return times, gyro, accel, times + rng.exponential(0.002, len(times))


def main() -> None:
    argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter).parse_args()
    speed()


if __name__ == "__main__":
    main()

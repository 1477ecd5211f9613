"""Rotation about hinges from level to vertical while the accelerometer's offset walks 20 mm/s² in a minute.

python benchmarks/study_leaning.py --seeds 40
python benchmarks/study_leaning.py --seeds 40 --no-rests
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np

from feltload.emulator.sensors.leaning import leaning
from feltload.signal.hinge.estimator import estimate_hinge

TILTS_DEG = (0.0, 60.0, 75.0, 85.0, 86.5, 88.0, 90.0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=40)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--walk", type=float, default=0.02, help="m/s² in a minute")
    parser.add_argument("--no-rests", action="store_true")
    chosen = parser.parse_args()
    print("| tilt, deg | rms over all, deg | worst, deg | in 95 % band | stated u, deg | said |")
    print("| --- | --- | --- | --- | --- | --- |")
    for tilt in TILTS_DEG:
        rms, inside, stated, said = [], [], [], Counter()
        for seed in range(chosen.first_seed, chosen.first_seed + chosen.seeds):
            time_s, gyro, accel, q = leaning(seed, tilt, walk_m_s2=chosen.walk, rests=not chosen.no_rests)
            motion = estimate_hinge(time_s, gyro, accel)
            error = motion.q_rad - np.interp(motion.time_s, time_s, q)
            rms.append(np.degrees(np.sqrt(np.mean(error**2))))
            inside.append(np.mean(np.abs(error) < 1.96 * motion.u_q_rad))
            stated.append(np.degrees(np.sqrt(np.mean(motion.u_q_rad**2))))
            said.update(fact.kind.value for fact in motion.warnings)
        print(
            f"| {tilt:g} | {np.sqrt(np.mean(np.square(rms))):.2f} | {max(rms):.2f} | {100 * np.mean(inside):.1f} % "
            f"| {np.sqrt(np.mean(np.square(stated))):.2f} "
            f"| {', '.join(f'{kind} {count}' for kind, count in said.items())} |",
            flush=True,
        )


if __name__ == "__main__":
    main()

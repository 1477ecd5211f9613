"""How well is help by hand measured where the hands come on or go off within a few degrees? The truth is known.

    python benchmarks/study_delivered_help.py --rigs 48 --first-seed 2000

Each rig (machine and sensors) is profiled without help; then one helped session at each tempo: 45 to 55 N of help or
resistance, coming on within 3 to 8 degrees in mid-travel, in half of the cases going off again before the end.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence

import numpy as np

from rig_hands import SENSORS, TEMPI, HandsCase, helped_case, profile_without_hands
from rig_session import MACHINES


def cases_of(rigs: int, first_seed: int) -> list[HandsCase]:
    """Helped sessions at all tempi on this many rigs, machines and sensors in turn."""
    cases = []
    for number in range(first_seed, first_seed + rigs):
        machine = MACHINES[number % len(MACHINES)]
        sensors = SENSORS[(number + number // len(MACHINES)) % len(SENSORS)]
        profile, reference, travel = profile_without_hands(machine, sensors, number)
        for offset, tempo in enumerate(TEMPI):
            case, _ = helped_case(profile, reference, travel, sensors, tempo, len(TEMPI) * number + offset)
            cases.append(case)
    return cases


def row(name: str, cases: Sequence[HandsCase]) -> str:
    """One line of the table."""
    share = [100.0 * np.sqrt(np.nanmean((case.error_n / case.peak_n) ** 2)) for case in cases]
    inside, near, far, width, beyond = [], [], [], [], []
    for case in cases:
        seen = np.isfinite(case.error_n)
        held = np.abs(case.error_n) <= case.u95_n
        inside.append(held[seen])
        near.append(held[seen & case.near_edge])
        far.append(held[seen & ~case.near_edge])
        width.append(100.0 * (case.u95_n / case.peak_n)[seen & ~case.near_edge])
        miss = (np.abs(case.error_n) - case.u95_n)[seen].max() / case.peak_n
        beyond.append(100.0 * max(0.0, float(miss)))
    return (
        f"| {name} | {len(cases)} | {np.mean(share):.2f} | {np.max(share):.2f} "
        f"| {100 * np.concatenate(inside).mean():.1f} | {min(100 * each.mean() for each in inside):.0f} "
        f"| {100 * np.concatenate(near).mean():.1f} | {100 * np.concatenate(far).mean():.1f} "
        f"| {np.concatenate(width).mean():.2f} | {np.max(beyond):.2f} |"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rigs", type=int, default=len(MACHINES))
    parser.add_argument("--first-seed", type=int, default=900)
    given = parser.parse_args()
    cases = cases_of(given.rigs, given.first_seed)
    print(
        "| group | sessions | rms, % of peak | worst session | in band % | worst session | near edges % | elsewhere % "
        "| half-width elsewhere, % of peak | most outside, % of peak |"
    )
    print("| --- " * 10 + "|")
    print(row("all", cases))
    kinds: tuple[tuple[tuple[str, ...], Callable[[HandsCase], str]], ...] = (
        (SENSORS, lambda case: case.sensors),
        (TEMPI, lambda case: case.tempo),
        (MACHINES, lambda case: case.machine),
    )
    for names, kind in kinds:
        for name in names:
            group = [case for case in cases if kind(case) == name]
            if group:
                print(row(name, group))


if __name__ == "__main__":
    main()

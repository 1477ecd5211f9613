"""Is a wrong dimension found, and is it the one that is named? The truth is known.

    OPENBLAS_NUM_THREADS=1 python benchmarks/study_culprit.py --seeds 20 --loads 2

Emulated machines of every mechanism with a drawn survey, through clocks, hinge and profile. Of each machine and seed,
the right file is checked, then files in which one dimension is off by 4 to 8 standard deviations of what survey and
data tell of it together, each dimension that can be so far off in turn.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from feltload.calibration import Agreement, AgreementVerdict, ParameterKey
from rig_culprit import MACHINES, rig, tellings

WRONG_BY = (4.0, 8.0)
CLEARLY = 5.0
"""Shifts of more standard deviations are counted by themselves as well."""


@dataclass
class Score:
    """Counts of one machine."""

    right: int = 0
    accused: int = 0
    wrong: int = 0
    found: int = 0
    first: int = 0
    tied: int = 0
    clearly: list[int] = field(default_factory=lambda: [0, 0, 0])
    sizes: list[int] = field(default_factory=list)


def named(agreement: Agreement, key: ParameterKey) -> tuple[bool, bool]:
    """Whether a dimension is named first, and whether it is among what explains the difference as well."""
    first = key in agreement.changed and agreement.explained
    others = any(key in other.dimensions for other in agreement.explanation.tied)
    return first, first or others


def study(
    machines: tuple[str, ...], seeds: range, loads: int, sensors: str, limit_s: float
) -> dict[str, Score]:
    """Counts of every machine."""
    begun, scores = time.monotonic(), defaultdict(Score)
    for seed in seeds:
        for name in machines:
            if time.monotonic() - begun > limit_s:
                return scores
            one(scores[name], name, seed, loads, sensors)
    return scores


def one(score: Score, name: str, seed: int, loads: int, sensors: str) -> None:
    """One drawn machine: its right file, and files with one wrong dimension each."""
    rng = np.random.default_rng([seed, 2])
    made = rig(name, 100 * seed + MACHINES.index(name), loads, sensors)
    right = made.checked(made.survey)
    score.right += 1
    score.accused += right.verdict is AgreementVerdict.DIFFERS
    if right.verdict is AgreementVerdict.DIFFERS:
        print(f"{name} {seed}: right file accused, score {right.score:.2f}", flush=True)
    for telling in tellings(right):
        size = float(rng.uniform(*WRONG_BY))
        shift = size * telling.sd * float(rng.choice([-1.0, 1.0]))
        surveyed = made.survey.parameter(telling.key)
        # No survey is offered as that wrong, nor drawn within a tenth of it.
        low, high = surveyed.plausible
        if not low < surveyed.value - shift / 0.9 < high or not np.isfinite(shift):
            continue
        wrong = made.survey.with_parameters({telling.key: surveyed.value + shift})
        agreement = made.checked(wrong)
        found = agreement.verdict is AgreementVerdict.DIFFERS
        first, tied = named(agreement, telling.key)
        score.wrong += 1
        score.found += found
        score.first += first
        score.tied += tied
        score.sizes.append(1 + len(agreement.explanation.tied))
        if size >= CLEARLY:
            score.clearly[0] += 1
            score.clearly[1] += found
            score.clearly[2] += tied
        if not (found and tied):
            causes = [key.dotted for key in agreement.changed]
            print(
                f"{name} {seed}: {telling.key.dotted} off by {size:.1f} sd ({shift:.4g}): {agreement.verdict}, score "
                f"{agreement.score:.2f}, named {agreement.explanation.kind} {causes} explained {agreement.explained}",
                flush=True,
            )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first-seed", type=int, default=1)
    parser.add_argument("--loads", type=int, choices=(1, 2), default=2)
    parser.add_argument("--sensors", default="ordinary")
    parser.add_argument("--limit-s", type=float, default=3600.0)
    parser.add_argument("--machines", nargs="+", default=MACHINES)
    given = parser.parse_args()
    seeds = range(given.first_seed, given.first_seed + given.seeds)
    scores = study(tuple(given.machines), seeds, given.loads, given.sensors, given.limit_s)
    print(
        "\n| machine | right files | accused | wrong dimensions | found | named first | first or tied | "
        "from 5 sd: found, tied | tied with, mean |\n|" + " --- |" * 9
    )
    for name, s in scores.items():
        share = [100.0 * n / max(s.wrong, 1) for n in (s.found, s.first, s.tied)]
        clear = [100.0 * n / max(s.clearly[0], 1) for n in s.clearly[1:]]
        print(
            f"| {name} | {s.right} | {s.accused} | {s.wrong} | {share[0]:.1f} % | {share[1]:.1f} % | "
            f"{share[2]:.1f} % | {clear[0]:.1f} %, {clear[1]:.1f} % | {np.mean(s.sizes or [1]) - 1.0:.1f} |"
        )


if __name__ == "__main__":
    main()

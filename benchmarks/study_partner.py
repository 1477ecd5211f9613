"""How far do a partner's hands move the profile? Emulated sessions with and without them, the truth known.

    python benchmarks/study_partner.py --sessions 108

Drawn for each session: machine, sensors, tempo, 6 to 12 repetitions, and a push of 15 to 60 N, helping in the
shortened part or resisting in the lengthened one, in 20 to 45 % of the repetitions, the last ones or scattered. One
seed draws one session with and without the partner: the helped repetitions' force is taken from the run in which the
partner pushes all the time.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from feltload.emulator import Partner, Person, SimulatedRun, scenario, simulate
from feltload.signal import ProfileFact
from feltload.signal.pipeline import estimate
from rig_session import MACHINES, reference_of, session_of

SENSORS = ("ordinary", "cheap", "fast")
TEMPI = ("mixed", "brisk", "slow")


def drawn(number: int) -> tuple[SimulatedRun, SimulatedRun, float]:
    """The session without help, with it, and the share of its repetitions that are helped."""
    rng = np.random.default_rng([number, 41])
    person = Person(repetitions=int(rng.integers(6, 13)))
    scene = scenario(
        MACHINES[number % len(MACHINES)],
        sensors=str(rng.choice(SENSORS)),
        tempo=TEMPI[int(rng.integers(len(TEMPI)))],
        person=person,
    )
    shortened, size, reach = rng.random() < 0.6, rng.uniform(15.0, 60.0), rng.choice([0.3, 0.5, 0.7, 1.0])
    partner = Partner(
        force_n=size if shortened else -size,
        from_share=1.0 - reach if shortened else 0.0,
        to_share=1.0 if shortened else reach,
        lowering=bool(rng.random() < 0.6),
    )
    plain = simulate(scene, seed=number)
    pushed = simulate(replace(scene, partner=partner), seed=number)
    repetition = _repetitions(plain)
    every = int(repetition.max()) + 1
    count = max(1, int(rng.uniform(0.2, 0.45) * every))
    helped = (
        np.arange(every - count, every) if rng.random() < 0.7 else rng.choice(every, count, replace=False)
    )
    force = np.where(np.isin(repetition, helped), pushed.force["force_n"], plain.force["force_n"])
    return plain, replace(plain, force=plain.force.assign(force_n=force)), count / every


def _repetitions(run: SimulatedRun) -> np.ndarray:
    """Which repetition each force sample belongs to, cut at the lowest point between two."""
    time, q = run.truth["t_s"].to_numpy(), run.truth["q_rad"].to_numpy()
    raised = (q > 0.5 * np.max(q)).astype(int)
    tops, ends = np.flatnonzero(np.diff(raised) > 0), np.flatnonzero(np.diff(raised) < 0)
    cuts = [a + int(np.argmin(q[a:b])) for a, b in zip(ends[:-1], tops[1:], strict=True)]
    sample = run.force["host_s"].to_numpy() - run.force_delay_s
    return np.searchsorted(time[cuts], sample)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--sessions", type=int, default=108)
    parser.add_argument("--first-seed", type=int, default=0)
    chosen = parser.parse_args()
    rows = []
    for number in range(chosen.first_seed, chosen.first_seed + chosen.sessions):
        plain, with_help, share = drawn(number)
        clean = estimate([session_of(plain, "plain")], reference=reference_of(plain))
        found = estimate([session_of(with_help, "helped")], reference=reference_of(plain))
        moved = found.static_n[0] - np.interp(found.angle_rad, clean.angle_rad, clean.static_n[0])
        truth = plain.scenario.static_force_n(found.angle_rad - plain.start_angle_rad)
        peak = float(np.max(np.abs(truth)))
        errors = [100.0 * float(np.sqrt(np.mean(e**2))) / peak for e in (moved, found.static_n[0] - truth)]
        reported = any(fact.kind == ProfileFact.HALF_REPETITIONS_LEFT_OUT for fact in found.warnings)
        rows.append((*errors, float(reported), share))
        if errors[0] > 0.3:
            print(f"seed {number}: {plain.scenario.name}, moved by {errors[0]:.2f} % of the peak")
    table = np.array(rows)
    print(
        f"{len(rows)} sessions, {100 * table[:, 3].min():.0f} to {100 * table[:, 3].max():.0f} % helped: moved by "
        f"{np.sqrt(np.mean(table[:, 0] ** 2)):.3f} % of peak rms, at most {table[:, 0].max():.2f} %; error "
        f"{np.sqrt(np.mean(table[:, 1] ** 2)):.3f} % rms; reported in {100 * table[:, 2].mean():.0f} %"
    )


if __name__ == "__main__":
    main()

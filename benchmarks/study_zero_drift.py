"""A zero that drifts over a long session: the profile's error and band, and the drift that is reported.

    python benchmarks/study_zero_drift.py --seeds 20 --minutes 1 5 20

Three machines, two classes of sensors; gain and start angle exact (study_coverage.py draws them). Drifts: "as sold"
(0.05 N/min with ordinary sensors, 0.2 with cheap ones), "steady" (0.3 N/min), "warm-up" (4 N in all, 63 % of it after
eight minutes), "walk" (0.4 N after a minute, root of time). "Left alone": the same sessions with the drift budgeted and
not estimated. `--afterwards` has the zero taken again over the last second, as a marked rest.
"""

from __future__ import annotations

import argparse
import dataclasses

import numpy as np

from feltload.emulator import Person, SimulatedRun, ZeroDrift, scenario, simulate
from feltload.signal import AlignmentFact, ProfileEstimate, Reference, Session
from feltload.signal.alignment.solver import solve
from feltload.signal.pipeline import estimate, prepare
from feltload.signal.profile.assembly import assemble
from rig_session import reference_of, session_of

MACHINE_NAMES = ("lever-row", "rising-arm", "four-bar")
SENSORS = ("ordinary", "cheap")
DRIFTS = {
    "as sold": None,
    "steady": ZeroDrift(0.3),
    "warm-up": ZeroDrift(0.05, 4.0),
    "walk": ZeroDrift(0.05, walk_n_rt_min=0.4),
}
REPETITIONS_PER_MIN = 11.5
END_REST_S = 1.5


def drifting_run(name: str, sensors: str, drift: ZeroDrift | None, minutes: float, seed: int) -> SimulatedRun:
    """A session of about that length."""
    person = Person(repetitions=max(4, round(REPETITIONS_PER_MIN * minutes)))
    scene = scenario(name, sensors=sensors, person=person)
    if drift is not None:
        force = dataclasses.replace(scene.sensors.force, drift=drift)
        scene = dataclasses.replace(scene, sensors=dataclasses.replace(scene.sensors, force=force))
    return simulate(scene, seed=seed)


def zero_afterwards(session: Session) -> Session:
    """The session with its zero taken again in the rest at its end, and the straight line taken off."""
    time, force = (session.force[name].to_numpy() for name in ("host_s", "force_n"))
    after = float(np.mean(force[time > time[-1] - END_REST_S]))
    line = after * np.clip((time - 2.0) / (time[-1] - 2.0), 0.0, 1.0)
    known = session.force_uncertainty
    return dataclasses.replace(
        session,
        force=session.force.assign(force_n=force - line),
        zero_after_n=after,
        force_uncertainty=dataclasses.replace(
            known, drift_n=float(np.hypot(0.2 * after, 1.4 * known.zero_n)), drift_stated=True
        ),
    )


def left_alone(session: Session, reference: Reference) -> ProfileEstimate:
    """The profile without an estimate of the drift."""
    aligned, readings, facts = prepare(session)
    aligned = dataclasses.replace(aligned, zero_known=None)
    solved, lags = solve([aligned], [readings], travel=reference.handle_travel)
    return assemble(solved, [session], lags, reference, facts)


def row(name: str, sensors: str, kind: str, minutes: float, seed: int, *, afterwards: bool) -> list[float]:
    """Rms error, half-width and coverage, left alone and estimated; drift true, reported, whether its band holds it."""
    run = drifting_run(name, sensors, DRIFTS[kind], minutes, seed)
    session, reference = session_of(run, "run"), reference_of(run)
    if afterwards:
        session = zero_afterwards(session)
    out = []
    for result in (left_alone(session, reference), estimate([session], reference=reference)):
        error = result.static_n[0] - run.scenario.static_force_n(result.angle_rad - run.start_angle_rad)
        out += [
            float(np.sqrt(np.mean(error**2))),
            float(np.mean(result.static_u95_n)),
            float(np.mean(np.abs(error) <= result.static_u95_n[0])),
        ]
    kinds = [fact.kind for fact in result.warnings]
    facts = [fact for fact in result.warnings if fact.kind is AlignmentFact.ZERO_DRIFT]
    off = facts[0].figure("drift_n") - run.errors["force_drift_n"] if facts else np.nan
    held = float(abs(off) <= facts[0].figure("u95_n")) if facts else np.nan
    disagrees = float(AlignmentFact.ZERO_DRIFT_DISAGREES in kinds)
    return [*out, run.errors["force_drift_n"], float(bool(facts)), off, held, disagrees]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, nargs="+", default=[1.0, 5.0, 20.0])
    parser.add_argument("--drift", nargs="+", choices=list(DRIFTS), default=list(DRIFTS))
    parser.add_argument("--afterwards", action="store_true")
    chosen = parser.parse_args()
    print("| drift, minutes | sessions | drift N | left alone: rms N | half-width N | in band % ", end="")
    print(
        "| estimated: rms N | half-width N | in band % | reported % | off N, rms | in its band % | disagrees % |"
    )
    print("|" + " --- |" * 13, flush=True)
    for minutes in chosen.minutes:
        for kind in chosen.drift:
            t = np.array(
                [
                    row(
                        MACHINE_NAMES[seed % 3],
                        SENSORS[seed // 3 % 2],
                        kind,
                        minutes,
                        seed,
                        afterwards=chosen.afterwards,
                    )
                    for seed in range(chosen.first_seed, chosen.first_seed + chosen.seeds)
                ]
            )
            root, mean = np.sqrt(np.mean(t**2, axis=0)), np.mean(t, axis=0)
            named = t[t[:, 7] > 0]
            off, held = (np.nan, np.nan)
            if len(named):
                off, held = np.sqrt(np.mean(named[:, 8] ** 2)), named[:, 9].mean()
            print(
                f"| {kind}, {minutes:g} | {len(t)} | {root[6]:.2f} | {root[0]:.2f} | {mean[1]:.2f} "
                f"| {100 * mean[2]:.1f} | {root[3]:.2f} | {mean[4]:.2f} | {100 * mean[5]:.1f} | {100 * mean[7]:.0f} "
                f"| {off:.2f} | {100 * held:.0f} | {100 * mean[10]:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()

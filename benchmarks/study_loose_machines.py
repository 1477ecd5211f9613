"""Machines that give: the profile of the arm behind play and flex, what is said of it, and who is accused.

    python benchmarks/study_loose_machines.py --seeds 20

For each case: machine, sensors and tempo change with the seed, and every error of calibration, start angle, load,
clocks, mounting, noise and person is drawn; the truth is the static force at the loaded arm's angle. "own rms" is that
of the error in percent of the peak without what is drawn of gain and start angle, "rms" with them; "95 %" is the part
of all angles inside the band. Plain levers have their machine file drawn at its stated uncertainties too: "accused" is
how many of these right files differ. "hands", "holds": sessions in which half-repetitions are left out or differ, or
holds are seen. "found": sessions in which play (flex) is named, and the rms of its size against the true one.
"""

from __future__ import annotations

import argparse
import itertools
import time
from dataclasses import dataclass, field

import numpy as np

from feltload.app.jobs.measuring.fixed_arm import count_efforts
from feltload.calibration import START_ANGLE, check_agreement, parse_machine
from feltload.core import FeltloadError
from feltload.emulator import Joint, Lever, machine_toml, scenario, simulate
from feltload.signal import ComplianceFact, ProfileFact, Reference, estimate
from rig_agreement import GRAVITY
from rig_session import reference_of, session_of

MACHINES = ("lever-row", "rising-arm", "over-the-top", "cam-drum", "four-bar")
SENSORS = ("ordinary", "fast", "ordinary", "cheap")
TEMPI = ("mixed", "brisk", "mixed")
PLAY_DEG = (0.0, 0.2, 0.6, 1.0)
MODES_HZ = (8.0, 12.0, 25.0)
HANDS = (ProfileFact.HALF_REPETITIONS_DIFFER, ProfileFact.HALF_REPETITIONS_LEFT_OUT)


@dataclass
class Row:
    """What one case came to."""

    own: list[float] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)
    inside: list[float] = field(default_factory=list)
    width: list[float] = field(default_factory=list)
    files: int = 0
    accused: int = 0
    hands: int = 0
    holds: int = 0
    refused: int = 0
    play: list[float] = field(default_factory=list)
    flex: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


def one(row: Row, joint: Joint | None, seed: int, draw: int) -> None:
    """Draw one session and add what it came to."""
    name, sensors = MACHINES[seed % len(MACHINES)], SENSORS[seed % len(SENSORS)]
    scene = scenario(name, sensors=sensors, tempo=TEMPI[seed % len(TEMPI)], joint=joint, systematic=True)
    run = simulate(scene, seed=draw)
    session, reference, survey = session_of(run, "session"), reference_of(run), None
    if isinstance(scene.machine, Lever):
        survey = parse_machine(machine_toml(scene, rng=np.random.default_rng([draw, 1])))
        start = survey.start_angle
        reference = Reference(
            survey.name,
            start.value,
            survey.parameter(START_ANGLE).u,
            handle_travel=reference.handle_travel,
        )
    begun = time.perf_counter()
    try:
        result = estimate([session], reference=reference)
    except FeltloadError as error:
        print(f"{joint}, seed {seed}: {error}")
        row.refused += 1
        return
    row.seconds.append(time.perf_counter() - begun)
    truth = scene.static_force_n(result.angle_rad - run.start_angle_rad)
    peak = float(np.max(np.abs(truth)))
    error_n = result.static_n[0] - truth
    turned = scene.static_force_n(result.angle_rad - reference.start_angle_rad)
    own_n = result.static_n[0] - (1.0 + run.errors["force_gain"]) * turned
    row.own.append(100.0 * float(np.sqrt(np.mean(own_n**2))) / peak)
    row.errors.append(100.0 * float(np.sqrt(np.mean(error_n**2))) / peak)
    row.inside.append(float(np.mean(np.abs(error_n) <= result.static_u95_n[0])))
    row.width.append(100.0 * float(np.mean(result.static_u95_n)) / peak)
    kinds = {fact.kind: fact for fact in result.warnings}
    row.hands += any(kind in kinds for kind in HANDS)
    row.holds += count_efforts(session)[0] >= 3
    if joint is not None and ComplianceFact.PLAY in kinds:
        found = kinds[ComplianceFact.PLAY].figure("play_rad")
        row.play.append(float(np.degrees(found - joint.play_rad)))
    if joint is not None and ComplianceFact.FLEX in kinds:
        row.flex.append(kinds[ComplianceFact.FLEX].figure("frequency_hz") / joint.mode_hz - 1.0)
    if survey is not None:
        row.files += 1
        row.accused += check_agreement(result, survey, gravity=GRAVITY).verdict == "differs"


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else float("nan")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--sensor", action="append", choices=("handle", "arm"))
    parser.add_argument("--play", action="append", type=float, choices=PLAY_DEG)
    parser.add_argument("--mode", action="append", type=float, choices=MODES_HZ)
    chosen = parser.parse_args()
    grid = list(itertools.product(PLAY_DEG, MODES_HZ))
    cases: list[tuple[int, Joint | None]] = [(0, None)]
    cases += [
        (1 + number, Joint(float(np.radians(play)), mode, 0.03, sensor))
        for sensor in chosen.sensor or ("handle", "arm")
        for number, (play, mode) in enumerate(grid)
        if play in (chosen.play or PLAY_DEG) and mode in (chosen.mode or MODES_HZ)
    ]
    print(
        "| sensor, play, mode | own rms % (worst) | rms % | 95 % | half-width % | accused | hands | holds | refused ",
        end="",
    )
    print("| s | play found, rms ° | flex found, rms % |")
    print("|" + " --- |" * 12)
    for number, joint in cases:
        row = Row()
        for seed in range(chosen.seeds):
            one(row, joint, seed, 10000 * (1 + number) + seed)
        name = (
            "rigid"
            if joint is None
            else (f"{joint.sensor}, {np.degrees(joint.play_rad):.1f}°, {joint.mode_hz:g} Hz")
        )
        print(
            f"| {name} | {_rms(row.own):.3f} ({max(row.own):.2f}) | {_rms(row.errors):.2f} "
            f"| {100 * np.mean(row.inside):.1f} | {np.mean(row.width):.2f} | {row.accused} of {row.files} "
            f"| {row.hands} | {row.holds} | {row.refused} "
            f"| {np.median(row.seconds):.2f} | {len(row.play)}, {_rms(row.play):.2f} "
            f"| {len(row.flex)}, {100 * _rms(row.flex):.1f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()

"""Holes in the streams of shipped recordings and emulated machines: is the profile right, or refused?

Every case loses one to three stretches of 0.2 to 8 s of the inertial stream, of the force stream or of both, or the
beginning or the end of them; or a sensor restarts its clock and counter after each hole; or a block of samples arrives
twice, or before the one that it should follow. A profile is right if it holds the truth within its 95 % band about as
well as the profile of the whole recording does, and the rotation is that of the whole recording.

    python benchmarks/study_holes.py --cases 12 --limit-s 300
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from feltload.acquisition import read_recording
from feltload.calibration import load_machine, reference_of as stated_reference
from feltload.core import FeltloadError
from feltload.emulator import (
    Scenario,
    peg_moved,
    random_holes,
    scenario,
    scenario_names,
    simulate,
    without,
)
from feltload.signal import Reference, Session, estimate, prepare
from rig_session import reference_of, session_of

RECORDINGS = Path(__file__).parent.parent / "recordings"
SHIPPED = ("lever-row-20kg", "lever-row-40kg", "peg-out-20kg", "peg-out-40kg")
PEG_OUT_M = 0.015
KINDS = ("inertial", "force", "both", "late", "early", "restarted", "repeated", "swapped")
BLOCK_S = (0.1, 2.0)
"""Lengths of blocks that arrive twice or late."""
WORST_RATIO = 1.5
"""A wrong profile misses its band somewhere by this factor, and by that factor more than the whole recording's."""
WORST_ANGLE_DEG = 0.7


@dataclass(frozen=True)
class Whole:
    """A session without holes, and what is true of it."""

    name: str
    session: Session
    reference: Reference
    truth: Scenario

    def missed(self, session: Session) -> tuple[float, float, int, int]:
        """Largest error over the 95 % band, rms error in percent of the peak, repetitions and complete ones."""
        made = estimate([session], reference=self.reference)
        # Compared at the same rotation: what the machine file says of the start angle is not the estimator's.
        true_n = self.truth.static_force_n(made.angle_rad - self.reference.start_angle_rad)
        error = made.static_n[0] - true_n
        return (
            float(np.max(np.abs(error) / made.static_u95_n[0])),
            100.0 * float(np.sqrt(np.mean(error**2)) / np.max(np.abs(true_n))),
            len(made.repetitions),
            sum(repetition.complete for repetition in made.repetitions),
        )


def shipped(name: str) -> Whole:
    """A shipped recording."""
    session = Session.from_recording(read_recording(RECORDINGS / f"{name}.mcap"), name=name)
    truth = scenario("lever-row", load_kg=session.load_kg)
    if name.startswith("peg-out"):
        truth = peg_moved(truth, PEG_OUT_M)
    return Whole(name, session, stated_reference(load_machine(RECORDINGS / "lever-row.toml")), truth)


def emulated(machine: str, sensors: str, seed: int) -> Whole:
    """An emulated session."""
    run = simulate(scenario(machine, sensors=sensors, load_kg=40.0), seed=seed)
    return Whole(f"{machine}, {sensors}", session_of(run, machine), reference_of(run), run.scenario)


def cut(session: Session, kind: str, rng: np.random.Generator) -> Session:
    """The session with random holes, or without its beginning or end."""
    start_s, stop_s = (float(session.inertial["host_s"].iloc[at]) for at in (0, -1))
    span_s = stop_s - start_s

    def holes() -> list[tuple[float, float]]:
        if kind == "late":
            return [(start_s - 9.0, start_s + rng.uniform(0.05, 0.6) * span_s)]
        if kind == "early":
            return [(start_s + rng.uniform(0.4, 0.95) * span_s, stop_s + 9.0)]
        return random_holes(rng, start_s, stop_s)

    if kind in ("restarted", "repeated", "swapped"):
        name = ("inertial", "force")[int(rng.integers(2))]
        change = {"restarted": restarted, "repeated": repeated, "swapped": swapped}[kind]
        return replace(session, **{name: change(getattr(session, name), holes(), rng)})
    streams = {"inertial": ["inertial"], "force": ["force"]}.get(kind, ["inertial", "force"])
    if kind in ("late", "early") and rng.uniform() < 0.7:
        streams = [streams[int(rng.integers(2))]]
    return replace(session, **{name: without(getattr(session, name), holes()) for name in streams})


def restarted(
    stream: pd.DataFrame, holes: list[tuple[float, float]], _rng: np.random.Generator
) -> pd.DataFrame:
    """A sensor that lost its power in each hole: its clock and counter begin again behind it."""
    out = without(stream, holes)
    host_s = out["host_s"].to_numpy()
    for name in ("device_s", "seq"):
        value = out[name].to_numpy().copy()
        for _, stop_s in holes:
            after = np.flatnonzero(host_s >= stop_s)
            if after.size:
                value[after] -= value[after[0]]
        out[name] = value
    return out


def repeated(
    stream: pd.DataFrame, _holes: list[tuple[float, float]], rng: np.random.Generator
) -> pd.DataFrame:
    """A block of samples that is sent twice."""
    first, count = _block(stream, rng)
    again = stream.iloc[first : first + count].assign(host_s=stream["host_s"].iloc[first + count - 1] + 1e-4)
    return pd.concat([stream.iloc[: first + count], again, stream.iloc[first + count :]], ignore_index=True)


def swapped(
    stream: pd.DataFrame, _holes: list[tuple[float, float]], rng: np.random.Generator
) -> pd.DataFrame:
    """Two blocks that arrive in the wrong order, at the times of the other."""
    first, count = _block(stream, rng)
    order = np.arange(len(stream))
    order[first : first + 2 * count] = np.roll(order[first : first + 2 * count], count)
    return stream.iloc[order].reset_index(drop=True).assign(host_s=stream["host_s"].to_numpy())


def _block(stream: pd.DataFrame, rng: np.random.Generator) -> tuple[int, int]:
    rate_hz = len(stream) / float(np.ptp(stream["host_s"]))
    count = max(2, int(rng.uniform(*BLOCK_S) * rate_hz))
    return int(rng.integers(0, len(stream) - 2 * count)), count


def turned_apart_deg(session: Session, whole: Session) -> float:
    """Largest difference of the rotation from that of the whole recording."""
    aligned, reference = prepare(session)[0], prepare(whole)[0]
    inside = aligned.moving_valid & (aligned.time_s >= reference.time_s[0])
    inside &= aligned.time_s <= reference.time_s[-1]
    there = np.interp(aligned.time_s[inside], reference.time_s, reference.q_rad)
    return float(np.degrees(np.max(np.abs(aligned.q_rad[inside] - there))))


def outcome(whole: Whole, session: Session, whole_ratio: float) -> tuple[str, str]:
    """Right, wrong or refused, and its figures."""
    try:
        ratio, rms_percent, repetitions, complete = whole.missed(session)
        apart_deg = turned_apart_deg(session, whole.session)
    except FeltloadError as error:
        return "refused", str(error)
    figures = (
        f"rms {rms_percent:.2f} %, error over band {ratio:.2f}, angle {apart_deg:.2f}°, "
        f"{complete} of {repetitions} repetitions complete"
    )
    wrong = ratio > WORST_RATIO * max(1.0, whole_ratio) or apart_deg > WORST_ANGLE_DEG
    return ("wrong" if wrong else "right"), figures


def sources(seed: int) -> Iterator[Callable[[], Whole]]:
    """Every shipped recording and every machine of the catalogue with two classes of sensors."""
    for name in SHIPPED:
        yield lambda name=name: shipped(name)
    for machine in scenario_names():
        for sensors in ("ordinary", "cheap"):
            yield lambda machine=machine, sensors=sensors: emulated(machine, sensors, seed)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--cases", type=int, default=10, help="per source")
    parser.add_argument("--limit-s", type=float, default=300.0)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = np.random.default_rng(chosen.seed)
    begun = time.monotonic()
    table: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS}
    for source in sources(chosen.seed):
        if time.monotonic() - begun > chosen.limit_s:
            print("time is up")
            break
        whole = source()
        whole_ratio, whole_rms, *_ = whole.missed(whole.session)
        print(f"{whole.name}: whole rms {whole_rms:.2f} %, error over band {whole_ratio:.2f}")
        for case in range(chosen.cases):
            kind = KINDS[case % len(KINDS)]
            what, figures = outcome(whole, cut(whole.session, kind, rng), whole_ratio)
            table[kind][what] += 1
            if what != "right":
                print(f"  {what} ({kind}): {figures}")
    print("\n| holes in | cases | right | refused | wrong |\n| --- | ---: | ---: | ---: | ---: |")
    for kind, counts in table.items():
        print(f"| {kind} | {counts.total()} | {counts['right']} | {counts['refused']} | {counts['wrong']} |")


if __name__ == "__main__":
    main()

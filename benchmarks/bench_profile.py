"""Speed and memory of the profile, against the user's script.

    python benchmarks/bench_profile.py

Processor time of one thread, both sides on the same data in the same run.
"""

from __future__ import annotations

import argparse
import dataclasses
import multiprocessing
import pickle
import tempfile
import time
from pathlib import Path

from feltload.emulator import Person, scenario, simulate
from feltload.signal.pipeline import estimate
from rig_session import reference_of, session_of
from rig_user_script import binned_profile


def speed() -> None:
    print("| data | ours s | script s | ratio | peak memory, GB (with the data alone) |")
    print("|" + " --- |" * 5)
    processes = multiprocessing.get_context("spawn")
    for sensors, repetitions in (("ordinary", 10), ("fast", 10), ("fast", 130), ("fast", 710)):
        with tempfile.TemporaryDirectory() as scratch:
            path = Path(scratch, "session")
            run = simulate(
                scenario("lever-row", sensors=sensors, person=Person(repetitions=repetitions)), seed=1
            )
            path.write_bytes(pickle.dumps((session_of(run, "run"), reference_of(run), run.start_angle_rad)))
            minutes = float(run.force["host_s"].iloc[-1]) / 60.0
            del run
            # A process of its own, so that its peak is not that of the emulated rig.
            with processes.Pool(1) as pool:
                ours_s, script_s, before, peak = pool.apply(_timed, (path,))
        print(
            f"| {minutes:.1f} min, {sensors} | {ours_s:.2f} | {script_s:.2f} | {ours_s / script_s:.1f} "
            f"| {peak:.2f} ({before:.2f}) |",
            flush=True,
        )


def _timed(path: Path) -> tuple[float, float, float, float]:
    """Processor seconds of estimate and script, peak memory in GB before and after the estimate."""
    session, reference, start_angle_rad = pickle.loads(path.read_bytes())
    cut = float(session.force["host_s"].iloc[0]) + 60.0
    short = dataclasses.replace(
        session,
        force=session.force[session.force["host_s"] < cut],
        inertial=session.inertial[session.inertial["host_s"] < cut],
    )
    # The first calls pay for imports.
    estimate([short], reference=reference)
    binned_profile(short.force, short.inertial, start_angle_rad)
    before = _peak_gb()
    begun = time.process_time()
    estimate([session], reference=reference)
    ours_s = time.process_time() - begun
    peak = _peak_gb()
    begun = time.process_time()
    binned_profile(session.force, session.inertial, start_angle_rad)
    return ours_s, time.process_time() - begun, before, peak


def _peak_gb() -> float:
    """Most memory that this process has held; `getrusage` would give a parent's too."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) * 1024 / 1e9


def main() -> None:
    argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter).parse_args()
    speed()


if __name__ == "__main__":
    main()

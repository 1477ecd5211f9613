"""A batch of recordings of a minute: time, gain of a second process, and memory.

    python benchmarks/bench_batch.py --recordings 1000

The recordings are one emulated session under many names: what is measured is the work, not its variety. Memory is the
most that the processes hold together, at the middle of the batch and at its end.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import psutil

from feltload.app.batch.dataset import Dataset
from feltload.app.batch.plan import plan_folder
from feltload.app.batch.running import run_batch
from feltload.app.batch.workers import local_workers
from feltload.app.jobs.measuring.request import MeasurementRequest

SUPPORT = Path(__file__).parents[1] / "tests" / "support"


def make_recordings(folder: Path, count: int) -> None:
    """Recordings of about a minute; all but the first are links to it."""
    from checked_recording import write_checked

    folder.mkdir()
    first = folder / "00000.mcap"
    write_checked(first, felt_kg=15.0)
    for k in range(1, count):
        (folder / f"{k:05d}.mcap").hardlink_to(first)


def run(folder: Path, out: Path, processes: int) -> tuple[float, float, Sequence[float]]:
    """Seconds on the clock and of processors, and memory in MB as measurements were done."""
    dataset = Dataset.open(out, plan_folder(folder, MeasurementRequest(())))
    this = psutil.Process()
    memory_mb: list[float] = []

    def note(done: float) -> None:
        family = [this, *this.children()]
        memory_mb.append(sum(process.memory_info().rss for process in family) / 1e6)

    before = _processor_s()
    begun = time.monotonic()
    with local_workers(processes) as workers:
        run_batch(dataset, workers, advance=note)
    clock_s = time.monotonic() - begun
    return clock_s, _processor_s() - before, memory_mb


def _processor_s() -> float:
    """Of this process and of those that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--recordings", type=int, default=60)
    count = parser.parse_args().recordings
    sys.path.insert(0, str(SUPPORT))
    print(f"load of the computer before: {os.getloadavg()[0]:.1f}")
    print(
        "| processes | recordings | clock s | processor s | per recording s | memory at the middle, at the end, MB |"
    )
    print("|" + " --- |" * 6)
    with tempfile.TemporaryDirectory() as scratch:
        make_recordings(Path(scratch, "in"), count)
        clocks = []
        for processes in (1, 2):
            clock_s, processor_s, memory_mb = run(
                Path(scratch, "in"), Path(scratch, f"out-{processes}"), processes
            )
            clocks.append(clock_s)
            middle, end = memory_mb[len(memory_mb) // 2], memory_mb[-1]
            print(
                f"| {processes} | {count} | {clock_s:.1f} | {processor_s:.1f} | {clock_s / count:.3f} "
                f"| {middle:.0f}, {end:.0f} |",
                flush=True,
            )
    print(f"gain of the second process: {clocks[0] / clocks[1]:.2f}")


if __name__ == "__main__":
    main()

"""What a million recordings cost, by simulation: an estimate, fed with what was measured on this computer.

    python benchmarks/bench_million.py                  # measure first, some minutes
    python benchmarks/bench_million.py --given          # with the figures of `GIVEN`, seconds

Measured: processor time of recordings that differ, bytes of what is written, time to write a part, what the plan and a
task cost, the latter by a real scheduler of `distributed` with tasks that do nothing. Assumed, and printed as such: the
speed of a shared file system, stragglers, workers that die.
"""

from __future__ import annotations

import argparse
import heapq
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields
from enum import IntEnum
from pathlib import Path

import numpy as np
import psutil

from feltload.app.batch.columns import Table
from feltload.app.batch.dataset import Dataset
from feltload.app.batch.part import make_part, measure_one, pack_part
from feltload.app.batch.plan import Planned, plan_folder
from feltload.app.jobs.measuring.request import MeasurementRequest

SUPPORT = Path(__file__).parents[1] / "tests" / "support"
RECORDINGS = 1_000_000
SIZES = ((1, 500), (2, 500), (16, 500), (64, 500), (256, 500), (1000, 500), (1000, 100))
"""Cores, and measurements of one part; 500 is what `Dataset` cuts."""

WAITING = 2
"""Parts handed out for each core, as `run_batch` does."""
FILE_SYSTEM_MB_S = 1000.0
"""Assumed: what a shared file system reads for all cores together."""
STRAGGLERS, SLOWER = 1e-3, 10.0
"""Assumed: share of the recordings that take longer by a factor, and the factor (damage, a computer that swaps)."""
DEATHS_PER_CORE_HOUR, RESTART_S = 0.05, 60.0
"""Assumed: a worker dies so often, and another is there after so long; its part begins again."""


@dataclass(frozen=True)
class Costs:
    """Measured costs.

    Attributes
    ----------
    median_s, spread : float
        Processor time of a recording of a minute: median, and standard deviation of its logarithm.
    start_s : float
        Processor time of a worker before its first recording.
    input_kb, profiles_kb, other_kb : float
        A recording; what it adds to the profiles' table, and to the other three.
    write_s : float
        To write the files of a part of 500, on this process's clock.
    plan_us, plan_bytes : float
        Of a measurement, here: to find, plan and write it into the plan; held in memory.
    task_ms : float
        Processor time of a part here and in the scheduler, when nothing is done with it.
    """

    median_s: float
    spread: float
    start_s: float
    input_kb: float
    profiles_kb: float
    other_kb: float
    write_s: float
    plan_us: float
    plan_bytes: float
    task_ms: float


GIVEN = Costs(0.22, 0.3, 1.1, 340.0, 3.8, 2.6, 0.053, 60.0, 780.0, 32.0)
"""Seen on two busy cores, all but the first; that is what a quiet computer took, by how old and new code did side by
side."""


@dataclass
class Outcome:
    """One simulated batch, in seconds: from the command to its end, of all cores at work or reading, of the process
    that writes, of the scheduler; and how many parts began again because their worker died."""

    end_s: float = 0.0
    cores_s: float = 0.0
    writer_s: float = 0.0
    scheduler_s: float = 0.0
    again: int = 0


class Event(IntEnum):
    """What happens next to a core or to a part."""

    WRITTEN = 0
    DONE = 1
    FREE = 2


def simulate(costs: Costs, cores: int, size: int, *, seed: int = 1) -> Outcome:
    """Parts handed out, read, made, lost with a worker now and then, and written by one process, event by event.

    Parameters
    ----------
    costs : Costs
    cores : int
    size : int
        Measurements of one part.
    seed : int
    """
    rng = np.random.default_rng(seed)
    todo = [_part_s(costs, size, cores, rng) for _ in range(RECORDINGS // size)]
    outcome = Outcome()
    scheduler_free = writer_free = costs.plan_us * 1e-6 * RECORDINGS
    events = [(scheduler_free + costs.start_s, Event.FREE) for _ in range(cores)]
    out = 0  # Parts handed out and not yet written.
    held = 0  # Cores that wait for the writer.
    while events:
        now, event = heapq.heappop(events)
        outcome.end_s = now
        if event is Event.WRITTEN:
            out -= 1
            if held:
                held -= 1
                heapq.heappush(events, (now, Event.FREE))
        elif event is Event.DONE:
            step_s = costs.write_s * size / 500.0
            writer_free = max(writer_free, now) + step_s
            outcome.writer_s += step_s
            heapq.heappush(events, (writer_free, Event.WRITTEN))
            heapq.heappush(events, (now, Event.FREE))
        elif todo and out >= WAITING * cores:
            held += 1
        elif todo:
            scheduler_free = max(scheduler_free, now) + 1e-3 * costs.task_ms
            outcome.scheduler_s += 1e-3 * costs.task_ms
            work_s, dies_s = todo[-1], float(rng.exponential(3600.0 / DEATHS_PER_CORE_HOUR))
            outcome.cores_s += min(work_s, dies_s)
            if dies_s < work_s:
                outcome.again += 1
                heapq.heappush(events, (scheduler_free + dies_s + RESTART_S, Event.FREE))
            else:
                todo.pop()
                out += 1
                heapq.heappush(events, (scheduler_free + work_s, Event.DONE))
    return outcome


def _part_s(costs: Costs, size: int, cores: int, rng: np.random.Generator) -> float:
    """Time to read and make one part."""
    each = costs.median_s * np.exp(costs.spread * rng.standard_normal(size))
    each[rng.random(size) < STRAGGLERS] *= SLOWER
    made_s = float(each.sum())
    # All cores together read no faster than the file system.
    read_s = 1e-3 * costs.input_kb * size * cores / FILE_SYSTEM_MB_S
    return max(made_s, read_s)


def measure() -> Costs:
    """Costs on this computer, its cores otherwise idle if possible."""
    sys.path.insert(0, str(SUPPORT))
    with tempfile.TemporaryDirectory() as scratch:
        folder = _recordings(Path(scratch, "in"))
        planned = plan_folder(folder, MeasurementRequest(()))
        measure_one(planned[0])
        took = []
        for item in planned:
            before = time.process_time()
            measure_one(item)
            took.append(time.process_time() - before)
        minutes = np.array([_minutes(item) for item in planned])
        per_minute = np.array(took) / minutes
        files = make_part(planned, ()).files
        sizes_kb = {table: len(data) / (1e3 * minutes.sum()) for table, data in files.items()}
        rows = [measure_one(planned[0])] * 500
        dataset = Dataset.open(Path(scratch, "out"), planned)
        packed = pack_part(rows, ())
        begun = time.monotonic()
        for _ in range(10):
            dataset.add(dataset.parts[0], packed)
        write_s = (time.monotonic() - begun) / 10
        plan_us, plan_bytes = _planning(Path(scratch, "many"))
        sizes = np.array([item.request.recordings[0].stat().st_size for item in planned])
        input_kb = float(np.mean(sizes / minutes)) / 1e3
        return Costs(
            median_s=float(np.median(per_minute)),
            spread=float(np.std(np.log(per_minute))),
            start_s=_start_s(),
            input_kb=input_kb,
            profiles_kb=sizes_kb[Table.PROFILES],
            other_kb=sum(size for table, size in sizes_kb.items() if table is not Table.PROFILES),
            write_s=write_s,
            plan_us=plan_us,
            plan_bytes=plan_bytes,
            task_ms=_task_ms(Path(scratch)),
        )


def _recordings(folder: Path) -> Path:
    """Emulated sessions that differ: machines, loads, noise."""
    from checked_recording import write_checked

    folder.mkdir()
    for name in ("lever-row-20kg", "lever-row-40kg", "peg-out-20kg", "peg-out-40kg"):
        shutil.copy(Path(__file__).parents[1] / "recordings" / f"{name}.mcap", folder)
    for felt_kg in (10.0, 15.0, 20.0, 25.0):
        write_checked(folder / f"checked-{felt_kg:.0f}.mcap", felt_kg=felt_kg)
    return folder


def _minutes(planned: Planned) -> float:
    from feltload.acquisition import read_recording

    recording = read_recording(planned.request.recordings[0])
    name = recording.info.rig.streams[0].name
    return float(np.ptp(recording.decoded(name).frame["host_s"])) / 60.0


def _planning(folder: Path, count: int = 5000) -> tuple[float, float]:
    folder.mkdir()
    for k in range(count):
        (folder / f"{k:05d}.mcap").touch()
    before = time.process_time()
    Dataset.open(folder.with_name("planned"), plan_folder(folder, MeasurementRequest(())))
    took_s = time.process_time() - before
    tracemalloc.start()
    kept = plan_folder(folder, MeasurementRequest(()))
    held = tracemalloc.get_traced_memory()[0]
    tracemalloc.stop()
    return 1e6 * took_s / count, held / len(kept)


def _start_s() -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    words = "from feltload.app.batch.part import measure_one; import feltload.app.jobs.measuring.measurement"
    subprocess.run([sys.executable, "-c", words], check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _task_ms(scratch: Path, tasks: int = 200) -> float:
    """Of a task that does nothing, handed out in a window as `run_batch` does, its argument a part of 500."""
    from concurrent.futures import FIRST_COMPLETED, wait

    from feltload.app.batch.workers import cluster_workers

    part = plan_folder(scratch / "many", MeasurementRequest(()))[:500]
    with (
        _cluster(scratch) as (address, scheduler),
        cluster_workers(address, timeout_s=60.0, join_s=60.0) as workers,
    ):
        running = {workers.submit(_nothing, part) for _ in range(WAITING * workers.count)}
        left, before = tasks, _busy_s(scheduler)
        while left > 0:
            done, running = wait(running, return_when=FIRST_COMPLETED)
            running |= {workers.submit(_nothing, part) for _ in done}
            left -= len(done)
        return 1e3 * (_busy_s(scheduler) - before) / tasks


def _busy_s(scheduler: psutil.Process) -> float:
    """Processor time of this process and of the scheduler: on a busy computer the clock says nothing."""
    times = scheduler.cpu_times()
    return time.process_time() + times.user + times.system


def _nothing(part: Sequence[Planned]) -> int:
    return len(part)


def _dask(folder: Path, words: Sequence[str]) -> subprocess.Popen[bytes]:
    here = {**os.environ, "PYTHONPATH": str(Path(__file__).parent)}
    return subprocess.Popen(
        [sys.executable, "-m", "dask", *words], cwd=folder, env=here, stderr=subprocess.DEVNULL
    )


@contextmanager
def _cluster(scratch: Path) -> Iterator[tuple[str, psutil.Process]]:
    file = scratch / "scheduler.json"
    scheduler = ("scheduler", "--port", "0", "--scheduler-file", str(file), "--no-dashboard")
    worker = ("worker", "--scheduler-file", str(file), "--nthreads", "1", "--no-nanny", "--no-dashboard")
    running = [_dask(scratch, scheduler)]
    try:
        while not file.is_file():
            time.sleep(0.1)
        running.append(_dask(scratch, worker))
        yield json.loads(file.read_text())["address"], psutil.Process(running[0].pid)
    finally:
        for process in running:
            process.kill()
            process.wait()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--given", action="store_true", help="simulate with the figures kept in this file")
    costs = GIVEN if parser.parse_args().given else measure()
    for field in fields(costs):
        print(f"{field.name}: {getattr(costs, field.name):.3g}")
    print(
        f"\nAssumed: a file system of {FILE_SYSTEM_MB_S:.0f} MB/s, {STRAGGLERS:.1%} of the recordings {SLOWER:g} times "
        f"slower, {DEATHS_PER_CORE_HOUR:g} deaths per core hour.\n"
    )
    print(
        "| cores | parts of | hours | core hours | cores busy | writer busy | scheduler busy | parts again |"
    )
    print("|" + " --- |" * 8)
    for cores, size in SIZES:
        got = simulate(costs, cores, size)
        print(
            f"| {cores} | {size} | {got.end_s / 3600.0:.2f} | {got.cores_s / 3600.0:.0f} "
            f"| {got.cores_s / (cores * got.end_s):.0%} | {got.writer_s / got.end_s:.1%} "
            f"| {got.scheduler_s / got.end_s:.1%} | {got.again} |"
        )
    million = 1e-6 * RECORDINGS
    print(
        f"\nRead {costs.input_kb * million:.0f} GB, written {costs.profiles_kb * million:.1f} GB of profiles and "
        f"{costs.other_kb * million:.1f} GB of other tables; plan {costs.plan_us * million:.0f} s and "
        f"{costs.plan_bytes * million / 1e3:.1f} GB of memory here."
    )


if __name__ == "__main__":
    main()

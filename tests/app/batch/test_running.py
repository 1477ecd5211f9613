"""Work that goes wrong under a batch: processes that die, a person who stops it, clusters."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pandas as pd
import pytest
from distributed import Client

from feltload.app.batch.dataset import Dataset
from feltload.app.batch.plan import plan_folder
from feltload.app.batch.running import run_batch
from feltload.app.batch.workers import cluster_workers, local_workers
from feltload.app.errors import UsageError
from feltload.app.jobs.measuring.request import MeasurementRequest
from killing_measure import measure_or_die, measure_slowly

COUNT = 4
SUPPORT = Path(__file__).parents[2] / "support"

pytestmark = pytest.mark.timeout(600)
"""Every process loads libraries for seconds, on a busy computer for many."""


@pytest.fixture(scope="module")
def folder(recordings, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("recordings")
    for k in range(COUNT):
        shutil.copy(recordings / "lever-row-40kg.mcap", out / f"row-{k}.mcap")
    return out


def begun(folder: Path, out: Path) -> Dataset:
    return Dataset.open(out, plan_folder(folder, MeasurementRequest(())))


def contents(dataset: Path) -> dict[str, bytes]:
    return {str(path.relative_to(dataset)): path.read_bytes() for path in sorted(dataset.rglob("*.parquet"))}


@pytest.fixture(scope="module")
def local(folder, tmp_path_factory) -> dict[str, bytes]:
    """Files of the dataset as one process of this computer makes it."""
    out = tmp_path_factory.mktemp("local") / "dataset"
    with local_workers(1) as workers:
        run_batch(begun(folder, out), workers)
    return contents(out)


def wait_until(true: Callable[[], bool], what: str, *, limit_s: float = 300.0) -> None:
    until = time.monotonic() + limit_s
    while not true():
        assert time.monotonic() < until, what
        time.sleep(0.05)


def test_a_recording_that_kills_its_process_is_listed_and_the_others_are_measured(
    folder, local, tmp_path
) -> None:
    shutil.copytree(folder, tmp_path / "in")
    shutil.copy(tmp_path / "in" / "row-0.mcap", tmp_path / "in" / "killer.mcap")
    dataset = begun(tmp_path / "in", tmp_path / "out")
    counted: list[float] = []
    with local_workers(2) as workers:
        run_batch(dataset, workers, measure=measure_or_die, advance=counted.append)
    assert list(dataset.all_failures()) == ["killer"]
    assert "crash" in dataset.all_failures()["killer"]
    rows = pd.read_parquet(tmp_path / "out" / "scalars")
    assert sorted(rows["measurement"].astype(str)) == [f"row-{k}" for k in range(COUNT)]
    assert counted[-1] == COUNT + 1
    assert not dataset.unfinished()
    # What failed is made again when that is asked for.
    assert [part.measurements[0].name for part in dataset.unfinished(retry_failed=True)] == ["killer"]


@pytest.mark.needs("pty")
def test_ctrl_c_keeps_what_is_done_and_the_same_command_goes_on(feltload, folder, local, tmp_path) -> None:
    out = tmp_path / "out"
    words = ["batch", str(folder), "--out", str(out), "--processes", "1"]
    running = subprocess.Popen(
        [sys.executable, "-m", "feltload.app", *words],
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        wait_until(lambda: any((out / "measurements").glob("part-*")), "no part was made")
        # As a terminal does: the whole group hears it.
        os.killpg(running.pid, signal.SIGINT)
        _, said = running.communicate(timeout=300)
    finally:
        running.kill()
    kept = contents(out)
    if len(kept) < len(local):
        assert running.returncode == 130, said
        assert len(said.strip().splitlines()) == 1, said
    assert all(local[name] == data for name, data in kept.items())
    assert feltload(*words, timeout_s=300).code == 0
    assert contents(out) == local


class Cluster:
    """A scheduler and its workers, each a process as an administrator starts it."""

    def __init__(self, scratch: Path) -> None:
        self.scratch = scratch
        self.file = scratch / "scheduler.json"
        self.processes: list[subprocess.Popen[bytes]] = []
        self._start("scheduler", "--port", "0", "--scheduler-file", self.file, "--no-dashboard")
        wait_until(self.file.is_file, "the scheduler did not start")
        self.address = pd.read_json(self.file, typ="series")["address"]

    def add_worker(self) -> subprocess.Popen[bytes]:
        return self._start("worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard")

    def _start(self, *words: str | Path) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "-m", "dask", *map(str, words)],
            cwd=self.scratch,
            env={**os.environ, "PYTHONPATH": str(SUPPORT), "OPENBLAS_NUM_THREADS": "1"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.processes.append(process)
        return process

    def stop(self) -> None:
        for process in self.processes:
            process.kill()
            process.wait()


@pytest.fixture(scope="module")
def cluster(tmp_path_factory) -> Iterator[Cluster]:
    running = Cluster(tmp_path_factory.mktemp("cluster"))
    yield running
    running.stop()


def test_a_scheduler_that_cannot_be_used_is_said_in_one_line(cluster, feltload, folder, tmp_path) -> None:
    """Before any worker joins it."""
    with (
        pytest.raises(UsageError, match="no scheduler answers"),
        cluster_workers("tcp://127.0.0.1:9", timeout_s=0.5),
    ):
        pass
    words = ("batch", folder, "--out", tmp_path / "out", "--scheduler")
    feltload(*words, "nonsense://x").one_line_error("no address of a scheduler")
    feltload(*words, cluster.address, timeout_s=300).one_line_error("no worker has joined")


def test_a_cluster_whose_worker_is_killed_gives_the_same_bytes(
    cluster, folder, local, tmp_path, feltload
) -> None:
    first = cluster.add_worker()
    cluster.add_worker()
    with Client(cluster.address, timeout=300, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=300)
    dataset = begun(folder, tmp_path / "out")
    killed = []

    def kill_in_the_middle(done: float) -> None:
        if done >= 1 and not killed:
            first.kill()
            killed.append(done)

    with cluster_workers(cluster.address, timeout_s=300) as workers:
        assert workers.count == 2
        run_batch(dataset, workers, measure=measure_slowly, advance=kill_in_the_middle)
    assert killed
    assert killed[0] < COUNT
    assert contents(tmp_path / "out") == local
    # The command itself, on what is left of the cluster.
    words = ("batch", folder, "--out", tmp_path / "by-command", "--scheduler", cluster.address)
    assert feltload(*words, timeout_s=300).code == 0
    assert contents(tmp_path / "by-command") == local

"""Who does the work: processes of this computer, or the workers of a Dask cluster."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from typing import Any, Protocol, TypeVar

from feltload.app.errors import UsageError
from feltload.app.files.provenance import software_version
from feltload.app.thread_limits import THREAD_LIMITS

T = TypeVar("T")

SCHEMES = ("tcp", "tls", "ws", "wss", "ucx")
"""What an address may begin with; the client of another leaves a traceback behind."""


class Workers(Protocol):
    """Runs functions elsewhere, several at a time.

    Attributes
    ----------
    count : int
        How many run at a time.
    deaths : tuple of type
        What a future raises when the process that ran it died.
    """

    count: int
    deaths: tuple[type[BaseException], ...]

    def submit(self, function: Callable[..., T], *arguments: Any) -> Future[T]:
        """Run it when one of them is free."""
        ...

    def alone(self, function: Callable[..., T], *arguments: Any) -> T:
        """Run it where its death harms no other, and wait for it."""
        ...

    def stop(self) -> None:
        """Leave what is going on."""
        ...


class LocalWorkers:
    """Processes of this computer, one for each core unless said otherwise; each of them with one thread."""

    deaths: tuple[type[BaseException], ...] = (BrokenExecutor,)

    def __init__(self, count: int | None = None) -> None:
        self.count = count or usable_cores()
        for limit in THREAD_LIMITS:
            os.environ[limit] = "1"
        self._pool = self._begin(self.count)
        self._lone: ProcessPoolExecutor | None = None

    @staticmethod
    def _begin(count: int) -> ProcessPoolExecutor:
        context = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(count, mp_context=context, initializer=_settle)

    def submit(self, function: Callable[..., T], *arguments: Any) -> Future[T]:
        """Run it in the next free process; after a death in a new one."""
        try:
            return self._pool.submit(function, *arguments)
        except BrokenExecutor:
            self._pool.shutdown(wait=False)
            self._pool = self._begin(self.count)
            return self._pool.submit(function, *arguments)

    def alone(self, function: Callable[..., T], *arguments: Any) -> T:
        """Run it in a process beside the others, by itself."""
        self._lone = self._lone or self._begin(1)
        try:
            return self._lone.submit(function, *arguments).result()
        except BrokenExecutor:
            self._lone.shutdown(wait=False)
            self._lone = None
            raise

    def stop(self) -> None:
        """End the processes, whatever they are doing."""
        for pool in (self._pool, self._lone):
            if pool is not None:
                pool.shutdown(wait=False, cancel_futures=True)
        children = multiprocessing.active_children()
        for process in children:
            process.terminate()
        for process in children:
            process.join()


class ClusterWorkers:
    """Workers of a Dask cluster that runs already.

    Parameters
    ----------
    client : distributed.Client
        Which has no type hints.
    """

    def __init__(self, client: Any) -> None:
        from distributed import KilledWorker

        self.deaths: tuple[type[BaseException], ...] = (KilledWorker,)
        self._executor: Executor = client.get_executor(pure=False)
        self.count = sum(client.nthreads().values())

    def submit(self, function: Callable[..., T], *arguments: Any) -> Future[T]:
        """Run it on the cluster; a worker that dies is replaced by another, three times."""
        return self._executor.submit(function, *arguments)

    def alone(self, function: Callable[..., T], *arguments: Any) -> T:
        """Run it as a task of its own."""
        return self.submit(function, *arguments).result()

    def stop(self) -> None:
        """Withdraw what has not begun; the cluster goes on."""
        self._executor.shutdown(wait=False)


@contextmanager
def local_workers(count: int | None = None) -> Iterator[LocalWorkers]:
    """Processes that are gone when the block ends."""
    workers = LocalWorkers(count)
    try:
        yield workers
    finally:
        workers.stop()


@contextmanager
def cluster_workers(
    address: str, *, timeout_s: float = 10.0, join_s: float = 3.0
) -> Iterator[ClusterWorkers]:
    """Workers of the cluster whose scheduler answers at `address`, such as "tcp://192.0.2.7:8786".

    Parameters
    ----------
    address : str
    timeout_s : float
        How long the scheduler may take to answer.
    join_s : float
        How long a first worker may take to join it.

    Raises
    ------
    UsageError
        `distributed` is not installed, nobody answers there, no worker has joined, or they have another version.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError(
            "a cluster needs dask and distributed",
            where="--scheduler",
            remedy='pip install "feltload[cluster]"',
        ) from error
    scheme = address.partition("://")[0] if "://" in address else "tcp"
    if scheme not in SCHEMES:
        raise UsageError(
            f"{address} is no address of a scheduler", where="--scheduler", remedy='write "tcp://HOST:PORT"'
        )
    connect: Any = Client
    try:
        client = connect(address, timeout=timeout_s, set_as_default=False)
    except (OSError, ValueError, TypeError, ImportError) as error:
        raise UsageError(
            f"no scheduler answers at {address}",
            where="--scheduler",
            remedy="start one with `dask scheduler`, and give the address that it prints",
        ) from error
    try:
        _require_ready(client, address, join_s)
        workers = ClusterWorkers(client)
        try:
            yield workers
        finally:
            workers.stop()
    finally:
        client.close(timeout=2)


def _require_ready(client: Any, address: str, join_s: float) -> None:
    with suppress(TimeoutError):
        client.wait_for_workers(1, timeout=join_s)
    try:
        versions = set(client.run(software_version).values())
    except (
        Exception
    ) as error:  # what a worker raises comes as it is; that feltload is missing there is the usual one
        raise UsageError(
            f"its workers cannot load feltload ({error})",
            where=f"--scheduler {address}",
            remedy="install the same feltload on every worker",
        ) from error
    if not versions:
        raise UsageError(
            "no worker has joined it",
            where=f"--scheduler {address}",
            remedy=f"start some with `dask worker {address}`",
        )
    if versions != {software_version()}:
        raise UsageError(
            f"its workers run feltload {', '.join(sorted(versions))}, this is {software_version()}",
            where=f"--scheduler {address}",
            remedy="install the same feltload on every worker",
        )


def usable_cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _settle() -> None:
    """Begin a process: the keyboard is the parent's to answer, and garbage is rare."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.freeze()

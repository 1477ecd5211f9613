"""A batch as it is asked for: plan, dataset, workers, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from feltload.app.batch.dataset import Dataset
from feltload.app.batch.plan import Planned, plan_folder, plan_table
from feltload.app.batch.running import run_batch
from feltload.app.batch.workers import Workers, cluster_workers, local_workers
from feltload.app.errors import UsageError
from feltload.app.files.inputs import place_gravity, read_machine_text
from feltload.app.files.recordings import read_certificates
from feltload.app.jobs.measuring.request import MeasurementRequest


@dataclass(frozen=True)
class BatchRequest:
    """What to measure, and where it goes.

    Attributes
    ----------
    source : Path
        Folder or table.
    out : Path
    options : MeasurementRequest
        How each measurement is made; its recordings are none.
    together : bool
        Recordings of one folder are one measurement.
    scheduler : str or None
        Of a cluster, in place of this computer's processes.
    processes : int or None
        On this computer; None for one for each core.
    retry_failed, overwrite : bool
    """

    source: Path
    out: Path
    options: MeasurementRequest
    together: bool = False
    scheduler: str | None = None
    processes: int | None = None
    retry_failed: bool = False
    overwrite: bool = False


@dataclass(frozen=True)
class BatchOutcome:
    """What came of a batch.

    Attributes
    ----------
    folder : Path
    measurements : int
        All of them.
    failures : dict of str to str
        Measurement -> the reason.
    """

    folder: Path
    measurements: int
    failures: Mapping[str, str]

    @property
    def measured(self) -> int:
        """How many could be made."""
        return self.measurements - len(self.failures)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "dataset": str(self.folder),
            "measured": self.measured,
            "failed": [{"measurement": name, "reason": reason} for name, reason in self.failures.items()],
        }


@dataclass(frozen=True)
class BatchJob:
    """A batch that is ready to run: everything named has been found usable."""

    dataset: Dataset
    workers: Callable[[], AbstractContextManager[Workers]]
    retry_failed: bool

    @property
    def measurements(self) -> int:
        """How many the dataset will have."""
        return sum(len(part.measurements) for part in self.dataset.parts)

    def run(self, advance: Callable[[float], None] = lambda done: None) -> BatchOutcome:
        """Run it.

        Raises
        ------
        UsageError
            The cluster cannot be used.
        """
        if self.dataset.unfinished(retry_failed=self.retry_failed):
            with self.workers() as workers:
                run_batch(self.dataset, workers, retry_failed=self.retry_failed, advance=advance)
        return BatchOutcome(self.dataset.folder, self.measurements, self.dataset.all_failures())


def prepare_batch(request: BatchRequest) -> BatchJob:
    """Plan a batch and begin its dataset, or go on with it.

    Raises
    ------
    FeltloadError
        Something named cannot be used; nothing has been written then.
    """
    try:
        import pyarrow  # noqa: F401
    except ImportError as error:
        raise UsageError(
            "a dataset needs pyarrow", where="batch", remedy='pip install "feltload[parquet]"'
        ) from error
    if request.processes is not None and request.processes < 1:
        raise UsageError(
            f"{request.processes} is no number of processes", where="--processes", remedy="give 1 or more"
        )
    _require_usable(request.options)
    dataset = Dataset.open(request.out, _planned(request), overwrite=request.overwrite)
    return BatchJob(dataset, lambda: _workers(request), request.retry_failed)


def _workers(request: BatchRequest) -> AbstractContextManager[Workers]:
    if request.scheduler is None:
        return local_workers(request.processes)
    return cluster_workers(request.scheduler)


def _planned(request: BatchRequest) -> list[Planned]:
    if request.source.is_dir():
        return plan_folder(request.source, request.options, together=request.together)
    if request.together:
        raise UsageError(
            "a table says by itself what belongs together", where="--together", remedy="leave it out"
        )
    return plan_table(request.source, request.options)


def _require_usable(options: MeasurementRequest) -> None:
    """Find what is wrong with every measurement before the first of them."""
    if options.machine is not None:
        read_machine_text(options.machine)
    read_certificates(options.certificates)
    place_gravity(options.latitude, options.height)

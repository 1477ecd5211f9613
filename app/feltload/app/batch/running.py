"""A batch from its plan to its dataset: parts are made side by side, and added as they are done."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass

from feltload.app.batch.dataset import Dataset, Part
from feltload.app.batch.part import PartFiles, Rows, failed, make_part, measure_one, pack_part
from feltload.app.batch.plan import Planned
from feltload.app.batch.workers import Workers

_WAITING = 2
"""Parts handed out for each worker: one that it makes, one that waits; memory does not grow with the batch."""


@dataclass
class _Progress:
    done: int
    advance: Callable[[float], None]

    def add(self, part: Part) -> None:
        self.done += len(part.measurements)
        self.advance(self.done)


def run_batch(
    dataset: Dataset,
    workers: Workers,
    *,
    retry_failed: bool = False,
    advance: Callable[[float], None] = lambda done: None,
    measure: Callable[[Planned], Rows] = measure_one,
) -> None:
    """Make every part that is not done.

    Parameters
    ----------
    dataset : Dataset
    workers : Workers
    retry_failed : bool
        Make the parts of failed measurements again.
    advance : callable
        Told how many measurements of the dataset are done.
    measure : callable
        Gives the rows of one measurement, in a worker.

    Raises
    ------
    KeyboardInterrupt
        As it comes; what is done by then stays.
    """
    todo = dataset.unfinished(retry_failed=retry_failed)[::-1]
    left = sum(len(part.measurements) for part in todo)
    progress = _Progress(sum(len(part.measurements) for part in dataset.parts) - left, advance)
    advance(progress.done)
    running: dict[Future[PartFiles], Part] = {}
    suspects: list[Part] = []
    while todo or running:
        while todo and len(running) < _WAITING * workers.count:
            part = todo.pop()
            running[workers.submit(make_part, part.measurements, dataset.labels, measure)] = part
        for future in wait(running, return_when=FIRST_COMPLETED).done:
            part = running.pop(future)
            try:
                made = future.result()
            except workers.deaths:
                suspects.append(part)
                continue
            dataset.add(part, made)
            progress.add(part)
    for part in suspects:
        dataset.add(part, _one_by_one(part, workers, dataset.labels, measure))
        progress.add(part)


def _one_by_one(
    part: Part, workers: Workers, labels: tuple[str, ...], measure: Callable[[Planned], Rows]
) -> PartFiles:
    """Make a part whose worker died: the measurement that kills again is the one to list."""
    rows = []
    for planned in part.measurements:
        try:
            rows.append(workers.alone(measure, planned))
        except workers.deaths:
            rows.append(failed(planned, "ended the process that measured it (a crash, or no memory left)"))
    return pack_part(rows, labels)

"""``feltload batch``: many recordings into one dataset."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, ReplacedFiles

MOST_SHOWN = 20
"""Failures printed; the dataset lists all."""

EXIT_NOTHING = 2
"""Exit code where nothing could be measured."""


def batch(
    source: Path,
    /,
    *,
    out: Path,
    together: bool = False,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: Literal["left", "right"] | None = None,
    certificate: list[Path] | None = None,
    accept_expired: bool = False,
    unhelped: bool = False,
    latitude: str | None = None,
    height: str | None = None,
    scheduler: str | None = None,
    processes: int | None = None,
    retry_failed: bool = False,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Measure many recordings into one dataset of Parquet files.

    What cannot be measured does not stop the others and is listed with its reason. Stopped by Ctrl-C or a power cut,
    it keeps what is done; the same command goes on from there, and takes in recordings that came since.

    Example: feltload batch recordings --out dataset

    Example: feltload batch study.toml --out dataset --scheduler tcp://192.0.2.7:8786

    Parameters
    ----------
    source
        Folder of recordings, or a table (TOML) of measurements: recordings that belong together, with options.
    out
        Folder of the dataset: profiles, scalars, recordings, measurements.
    together
        Recordings of one folder are one measurement: one machine, several loads. Left out, each is one by itself.
    side
        Arm to measure, when the recordings hold both.
    certificate
        Calibration certificates of the sensors, in place of those in the recordings; STREAM=FILE as in profile.
    accept_expired
        Use certificates past their expiry, after a field check with one known weight.
    unhelped
        Nobody's hands helped or resisted in recordings that do not say what they are, though their force looks like it.
    latitude
        Where it was recorded, such as "52 deg", for gravity.
    height
        Height of that place above sea level, such as "100 m".
    scheduler
        Run on a Dask cluster: the address of its scheduler, such as "tcp://192.0.2.7:8786".
    processes
        Processes on this computer; left out, one for each core.
    retry_failed
        Measure again what failed, after its cause is gone.
    force_overwrite
        Begin again where a dataset is there already.
    """
    from feltload.app.batch.job import BatchRequest, prepare_batch
    from feltload.app.jobs.measuring.request import MeasurementRequest

    console = Console(common)
    options = MeasurementRequest(
        recordings=(),
        machine=replaced.machine,
        rig=replaced.rig,
        certificates=tuple(certificate or ()),
        side=side,
        accept_expired=accept_expired,
        unhelped=unhelped,
        latitude=latitude,
        height=height,
    )
    job = prepare_batch(
        BatchRequest(
            source, out, options, together, scheduler, processes, retry_failed, overwrite=force_overwrite
        )
    )
    with console.progress(f"Measuring {job.measurements}", total=job.measurements) as advance:
        outcome = job.run(advance)
    for name, reason in list(outcome.failures.items())[:MOST_SHOWN]:
        console.note(f"! {name}: {reason}")
    left_out = len(outcome.failures) - MOST_SHOWN
    if left_out > 0:
        console.note(f"! and {left_out} more, all in {out / 'measurements'}")
    console.say(f"Measured: {outcome.measured} of {outcome.measurements}, in {outcome.folder}")
    console.result(outcome.to_dict())
    return 0 if outcome.measured else EXIT_NOTHING

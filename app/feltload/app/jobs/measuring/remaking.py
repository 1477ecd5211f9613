"""A result made again from what its folder says it was made from, and compared with it."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Options, Provenance, RecordingSource, file_sha256, load_provenance
from feltload.app.jobs.measuring.measurement import Measurement, measure
from feltload.app.options import ReplacedFiles
from feltload.core import Floats
from feltload.signal import ProfileEstimate, load_results

RECORDING = ".mcap"
COMPARED = (
    "angle_rad",
    "loads_kg",
    "static_n",
    "static_u95_n",
    "friction_n",
    "friction_u95_n",
    "covariance_n2",
    "inertia_by_load_n_per_rad_s2",
)
"""Arrays of a result that are compared."""


@dataclass(frozen=True)
class Difference:
    """What differs in one array: the largest difference, as a part of the array's largest value.

    `relative` is None where the shapes differ.
    """

    name: str
    relative: float | None


def remake_result(directory: Path, recordings: Path) -> Measurement:
    """Measure again what a result was made from.

    Parameters
    ----------
    directory : Path
        Directory that `feltload profile` wrote.
    recordings : Path
        Folder in which its recordings are looked for, by their digests.

    Raises
    ------
    UsageError
        The result does not say how it was made, or a recording is not there.
    """
    provenance = load_provenance(directory)
    options = provenance.options
    if options is None:
        raise UsageError(
            f"does not say how it was made (by feltload {provenance.feltload})",
            where=str(directory),
            remedy="profile its recordings again with `feltload profile`",
        )
    found = _find(provenance.recordings, recordings, directory)
    with tempfile.TemporaryDirectory(prefix="feltload-remake-") as scratch:
        return _measure(Path(scratch), found, options, provenance)


def _measure(scratch: Path, found: Sequence[Path], options: Options, provenance: Provenance) -> Measurement:
    paths = []
    for path, source in zip(found, provenance.recordings, strict=True):
        # Results name recordings by their files.
        link = scratch / source.name
        link.symlink_to(path.resolve())
        paths.append(link)
    machine = rig = None
    if options.machine_replaced and provenance.machine_toml is not None:
        machine = scratch / "machine.toml"
        machine.write_text(provenance.machine_toml, encoding="utf-8")
    if options.rig_toml is not None:
        rig = scratch / "rig.toml"
        rig.write_text(options.rig_toml, encoding="utf-8")
    certificates = []
    for kept in options.certificates:
        path = scratch / f"{kept.name}.json"
        path.write_text(kept.text, encoding="utf-8")
        certificates.append(path if kept.stream is None else Path(f"{kept.stream}={path}"))
    return measure(
        paths,
        replaced=ReplacedFiles(rig=rig, machine=machine),
        side=options.side,
        both_sides=options.both_sides,
        certificates=certificates,
        accept_expired=options.accept_expired,
        unhelped=options.unhelped,
        gravity=None if provenance.gravity is None else provenance.gravity.gravity(),
    )


def _find(sources: Sequence[RecordingSource], folder: Path, directory: Path) -> list[Path]:
    """Each recording by its digest, those of the same name first."""
    if not folder.is_dir():
        raise UsageError("no such folder", where=str(folder), remedy="name the folder of the recordings")
    paths = sorted(folder.rglob(f"*{RECORDING}"))
    found = []
    for source in sources:
        likely = sorted(paths, key=lambda path: path.name != source.name)
        path = next((path for path in likely if file_sha256(path) == source.sha256), None)
        if path is None:
            raise UsageError(
                f"{source.name} of {directory} is not in it (sha256 {source.sha256[:12]}…)",
                where=str(folder),
                remedy="name the folder that holds the recording as it was, with --recordings",
            )
        found.append(path)
    return found


def differences(old: ProfileEstimate, new: ProfileEstimate) -> tuple[Difference, ...]:
    """Arrays of two results that are not the same bit for bit."""
    found = []
    for name in COMPARED:
        before, after = np.asarray(getattr(old, name)), np.asarray(getattr(new, name))
        if before.shape != after.shape:
            found.append(Difference(name, None))
        elif not np.array_equal(before, after, equal_nan=True):
            found.append(Difference(name, _relative(before, after)))
    return tuple(found)


def _relative(before: Floats, after: Floats) -> float:
    """Infinite where one of them is unknown and the other is not."""
    if np.any(np.isnan(before) != np.isnan(after)):
        return float("inf")
    return float(np.nanmax(np.abs(after - before)) / max(float(np.nanmax(np.abs(before))), 1e-300))


def compare_folders(old: Path, new: Path) -> tuple[Difference, ...]:
    """What differs between two results on disk."""
    return differences(load_results(old), load_results(new))

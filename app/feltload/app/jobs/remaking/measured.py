"""A measurement made again from what the folder of its result keeps."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Options, Provenance, load_provenance
from feltload.app.jobs.facts import InputFact
from feltload.app.jobs.measuring.measurement import Measurement, measure
from feltload.app.jobs.remaking.inputs import find_by_digest
from feltload.app.options import ReplacedFiles


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
    wanted = [(source.name, source.sha256) for source in provenance.recordings]
    found = find_by_digest(wanted, recordings, directory)
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
        machine = scratch / _machine_name(provenance)
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


def _machine_name(provenance: Provenance) -> str:
    """Name of the machine file that was given with the command, which the report says."""
    named = (fact.figures["file"] for fact in provenance.remarks if fact.kind == InputFact.MACHINE_REPLACED)
    return Path(str(next(named, "machine.toml"))).name

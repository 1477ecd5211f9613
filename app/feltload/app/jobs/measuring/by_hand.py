"""A table of readings by hand to a measured profile, with what it was made from."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from feltload.app.files.inputs import read_load, read_machine_text
from feltload.app.files.provenance import (
    Provenance,
    RecordingSource,
    file_sha256,
    library_versions,
    software_revision,
    software_version,
)
from feltload.app.jobs.measuring.measurement import Measurement
from feltload.app.jobs.mechanism_limits import require_possible
from feltload.app.options import HandScaleOptions
from feltload.calibration import parse_machine, reference_of
from feltload.core import InputError, parse_quantity, parse_share
from feltload.signal import (
    HandScale,
    PositionKind,
    Reference,
    TableOptions,
    estimate_at_stops,
    position_kind,
    read_stops,
)

LARGEST_ERROR = 0.5
"""A scale that may be half off measures nothing."""


def measure_by_hand(
    table: Path, machine_path: Path, load: str | None, options: HandScaleOptions
) -> Measurement:
    """Estimate a machine's static profile from readings at stops.

    Parameters
    ----------
    table : Path
        Positions and readings; see `feltload.signal.read_stops`.
    machine_path : Path
        Machine file, for start angle and handle.
    load : str or None
        Load of rows that state none, such as "40 kg".
    options : HandScaleOptions
        What is known of the scale and the stops.

    Raises
    ------
    FeltloadError
        As the reading and the estimation raise.
    """
    mass = None if load is None else read_load(load, "--load")
    machine_toml = read_machine_text(machine_path)
    machine = parse_machine(machine_toml, str(machine_path))
    reference = reference_of(machine)
    stated = TableOptions(
        None if mass is None else mass.value,
        _position_u(options.position_uncertainty, position_kind(table)),
        None if options.travel is None else _travel_rad(options.travel, reference),
    )
    readings = read_stops(table, reference, stated)
    estimate = estimate_at_stops(readings, reference, _scale(options), where=str(table))
    require_possible(estimate, machine, where=str(table))
    sha256 = file_sha256(table)
    sources = tuple(
        RecordingSource(
            name=table.name,
            sha256=sha256,
            load_kg=float(kg),
            load_stated="" if mass is None or kg != mass.value else mass.text,
            started_utc="",
        )
        for kg in np.unique(readings.load_kg)
    )
    provenance = Provenance(
        feltload=software_version(),
        revision=software_revision(),
        libraries=library_versions(),
        recordings=sources,
        machine_toml=machine_toml,
    )
    return Measurement(estimate, machine, provenance)


def _scale(options: HandScaleOptions) -> HandScale:
    step, share = options.scale_resolution, options.scale_error
    known = HandScale()
    if step is not None:
        step_n = parse_quantity(step, "force", where="--scale-resolution").value
        if step_n <= 0.0:
            raise InputError(
                "is not above zero", where="--scale-resolution", remedy='give a step, such as "0.1 kgf"'
            )
        known = HandScale(step_n)
    if share is None:
        return known
    limits = parse_share(share, where="--scale-error")
    if limits > LARGEST_ERROR:
        raise InputError(
            f"{share} is no error of a scale that measures",
            where="--scale-error",
            remedy='give its limits, such as "1 %"',
        )
    return HandScale(known.resolution_n, limits, error_stated=True)


def _position_u(text: str | None, kind: PositionKind) -> float | None:
    if text is None:
        return None
    where = "--position-uncertainty"
    if kind is PositionKind.SHARE:
        return parse_share(text, where=where)
    value = parse_quantity(text, "length" if kind is PositionKind.WAY else "angle", where=where).value
    if value <= 0.0:
        raise InputError(
            "is not above zero", where=where, remedy='give a standard uncertainty, such as "1 deg"'
        )
    return value


def _travel_rad(text: str, reference: Reference) -> float:
    angle = parse_quantity(text, "angle", where="--travel").value
    if not 0.0 < angle <= 2.0 * np.pi:
        raise InputError(
            f'"{text}" is no travel of {reference.machine_name}',
            where="--travel",
            remedy='give the turn from stop to stop, such as "85 deg"',
        )
    return angle

"""Rows of one measurement for every table of the dataset."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import numpy as np

from feltload.app.batch.columns import DIRECTIONS, Table
from feltload.app.batch.plan import Planned
from feltload.app.files.provenance import Provenance, file_sha256
from feltload.app.files.recordings import certificate_path
from feltload.app.jobs.measuring.measurement import Measurement
from feltload.core import Floats
from feltload.signal import AngleKind, ProfileEstimate, describe_shape, mean_friction_n

DONE, FAILED = "done", "failed"
Columns = Mapping[str, Any]
"""Column -> its values, or one value for all rows of the block."""


def rows_of(planned: Planned, measurement: Measurement) -> dict[Table, list[Columns]]:
    """Blocks of rows of a measurement that was made."""
    estimate, provenance = measurement.estimate, measurement.provenance
    made_by = {
        "measurement": planned.name,
        "invented": provenance.invented,
        "inputs_sha256": inputs_sha256(planned, provenance),
        "feltload": provenance.feltload,
        "revision": provenance.revision,
    }
    of_machine = {**planned.labels, "machine": estimate.machine_name, **made_by}
    loads = range(estimate.loads_kg.size)
    return {
        Table.PROFILES: [
            {**block, **of_machine} for index in loads for block in _profile_blocks(estimate, index)
        ],
        Table.SCALARS: [{**_scalars(estimate, index), **of_machine} for index in loads],
        Table.RECORDINGS: [
            {
                "recording": path.as_posix(),
                "sha256": source.sha256,
                "load_kg": source.load_kg,
                "started_utc": source.started_utc,
                "damaged": len(source.damage),
                "force_certificates": " ".join(source.force_certificates),
                **made_by,
            }
            for path, source in zip(planned.request.recordings, provenance.recordings, strict=True)
        ],
        Table.MEASUREMENTS: [
            {
                "outcome": DONE,
                "reason": "",
                "loads": estimate.loads_kg.size,
                "doubts": " ".join(sorted({str(fact.kind) for fact in estimate.warnings})),
                **of_machine,
            }
        ],
    }


def failure_rows(planned: Planned, reason: str, feltload: str, revision: str) -> dict[Table, list[Columns]]:
    """The row of a measurement that could not be made."""
    row = {
        "measurement": planned.name,
        "outcome": FAILED,
        "reason": reason,
        "machine": None,
        "loads": 0,
        "doubts": "",
        "invented": None,
        "inputs_sha256": None,
        "feltload": feltload,
        "revision": revision,
        **planned.labels,
    }
    return {Table.PROFILES: [], Table.SCALARS: [], Table.RECORDINGS: [], Table.MEASUREMENTS: [row]}


def inputs_sha256(planned: Planned, provenance: Provenance) -> str:
    """Digest of the bytes of recordings, machine file, rig file and certificates, and of the options."""
    request = planned.request
    options = {
        name: value
        for name, value in asdict(request).items()
        if name not in ("recordings", "machine", "rig", "certificates")
    }
    inputs = {
        "recordings": [source.sha256 for source in provenance.recordings],
        "machine_toml": provenance.machine_toml,
        "rig": None if request.rig is None else file_sha256(request.rig),
        "certificates": [file_sha256(certificate_path(word)) for word in request.certificates],
        "options": options,
    }
    return hashlib.sha256(json.dumps(inputs, sort_keys=True).encode()).hexdigest()


def _profile_blocks(estimate: ProfileEstimate, load: int) -> list[Columns]:
    """Still, raising and lowering at one load, where the load covered the travel."""
    covered = np.isfinite(estimate.static_n[load])
    travel = estimate.travel
    places = travel.columns(estimate.angle_rad)
    lever = travel.scale.angle is AngleKind.LEVER
    missing = np.full(covered.size, np.nan)
    at = {
        "load_kg": float(estimate.loads_kg[load]),
        "rotation_deg": np.degrees(estimate.angle_rad - estimate.start_angle_rad)[covered],
        "angle_deg": (np.degrees(estimate.angle_rad) if lever else missing)[covered],
        "travel_percent": places["travel_percent"][covered],
        "handle_travel_mm": places.get("handle_travel_mm", missing)[covered],
    }
    static_n, friction_n = estimate.static_n[load], estimate.friction_n[load]
    band_n, friction_band_n = estimate.static_u95_n[load], estimate.friction_u95_n[load]
    up, down = estimate.raising_count[load], estimate.lowering_count[load]
    # Whatever the correlation of static force and friction, their sum is known no worse than this.
    moving_band_n = band_n + friction_band_n
    forces = (static_n, static_n + friction_n, static_n - friction_n)
    bands = (band_n, moving_band_n, moving_band_n)
    passes = (up + down, up, down)
    return [
        {
            **at,
            "direction": direction,
            "force_n": force_n[covered],
            "force_u95_n": u95_n[covered],
            "passes": count[covered],
        }
        for direction, force_n, u95_n, count in zip(DIRECTIONS, forces, bands, passes, strict=True)
    ]


def _scalars(estimate: ProfileEstimate, load: int) -> dict[str, Any]:
    shape = describe_shape(estimate, load)
    mean_n, mean_u95_n = _mean(estimate, load)
    friction_n, friction_u95_n = mean_friction_n(estimate, load)
    peak = int(np.nanargmax(estimate.static_n[load]))
    load_kg = float(estimate.loads_kg[load])
    travel = estimate.travel
    peak_at, low_at = (100.0 * float(travel.share(at)) for at in (shape.peak_angle_rad, shape.low_angle_rad))
    return {
        "load_kg": load_kg,
        "shape": shape.shape,
        "peak_n": shape.peak_n,
        "peak_u95_n": float(estimate.static_u95_n[load][peak]),
        "peak_travel_percent": peak_at,
        "low_n": shape.low_n,
        "low_travel_percent": low_at,
        "end_n": shape.end_n,
        "drop_off_percent": shape.drop_off_percent,
        "mean_n": mean_n,
        "mean_u95_n": mean_u95_n,
        "friction_n": friction_n,
        "friction_u95_n": friction_u95_n,
        "inertia_n_per_rad_s2": _median(estimate.inertia_by_load_n_per_rad_s2[load]),
        "repetitions": sum(1 for item in estimate.repetitions if item.load_kg == load_kg and item.complete),
        "residual_n": estimate.health.residual_n,
    }


def _mean(estimate: ProfileEstimate, load: int) -> tuple[float, float]:
    """Mean static force over the angles covered, and half-width of its 95 % band."""
    covered = np.isfinite(estimate.static_n[load])
    count = covered.size
    block = estimate.covariance_n2[load * count : (load + 1) * count, load * count : (load + 1) * count]
    block = block[np.ix_(covered, covered)]
    u = np.sqrt(np.diag(block))
    known = u > 0.0
    coverage = (
        float(np.median(estimate.static_u95_n[load][covered][known] / u[known])) if known.any() else 0.0
    )
    mean_n = float(estimate.static_n[load][covered].mean())
    return mean_n, coverage * float(np.sqrt(max(block.mean(), 0.0)))


def _median(values: Floats) -> float | None:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else None

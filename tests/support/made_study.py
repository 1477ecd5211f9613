"""Results of an invented repeatability study in a folder: machines, operators, days and remounts that scatter."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import numpy as np

from feltload.app.files.provenance import Provenance, RecordingSource
from feltload.signal import save_results
from lever_profile import lever_profile
from made_estimate import made_estimate

LEVELS = {"machine": "ABCDEFGHIJ", "operator": "xyz", "day": "12345", "remount": "123456789"}


def made_study(
    folder: Path,
    *,
    machines: int = 6,
    operators: int = 1,
    days: int = 2,
    remounts: int = 1,
    loads_kg: tuple[float, ...] = (40.0,),
    sd_n: tuple[float, float, float, float] = (15.0, 2.0, 2.0, 1.0),
    seed: int = 1,
) -> Path:
    """Write results named MACHINE-OPERATOR-DAY-REMOUNT under ``folder/results``; `sd_n` is of each factor, in order."""
    rng = np.random.default_rng(seed)
    shifts = [rng.normal(0.0, sd, len(LEVELS[name])) for name, sd in zip(LEVELS, sd_n, strict=True)]
    shape = (machines, operators, days, remounts)
    base = replace(lever_profile(loads_kg=loads_kg), repetitions=made_estimate().repetitions)
    x = np.linspace(0.0, 1.0, base.angle_rad.size)
    for at in np.ndindex(shape):
        levels = [LEVELS[name][k] for name, k in zip(LEVELS, at, strict=True)]
        offset = sum(shift[k] for shift, k in zip(shifts[:3], at[:3], strict=True))
        wave = rng.normal(0.0, 0.5 * sd_n[3], 3) @ np.cos(np.pi * np.outer([1, 2, 3], x))
        static = base.static_n + offset + rng.normal(0.0, sd_n[3]) + wave
        name = "-".join(levels)
        friction = base.friction_n + rng.normal(0.0, 0.3)
        measured = replace(base, static_n=static, friction_n=friction)
        write_made_result(folder / "results" / name, measured, name)
    return folder / "results"


def write_made_result(path: Path, estimate, name: str, *, certificate: str | None = None) -> None:
    """Write one result whose recording has a digest of its own, and that of a cell's certificate where there is one."""
    path.mkdir(parents=True)
    save_results(path, estimate)
    source = RecordingSource(
        name=f"{name}.mcap",
        sha256=hashlib.sha256(name.encode()).hexdigest(),
        load_kg=40.0,
        started_utc="2026-03-02T09:00:00+00:00",
        force_certificates=() if certificate is None else (certificate,),
    )
    Provenance(feltload="0.1.0", recordings=(source,), invented=True).save(path)

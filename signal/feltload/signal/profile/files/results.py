"""Results on disk: `profile.csv` and `profile.json` for people and programs, `model.npz` to go on from."""

from __future__ import annotations

import errno
import json
import tempfile
import zlib
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import asdict
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from feltload.core import Fact, Floats, replacing
from feltload.signal.alignment.lag import Lag, LagMethod, LagReading
from feltload.signal.errors import ResultsError
from feltload.signal.movement.attitude import Attitude
from feltload.signal.movement.positions import PositionScale
from feltload.signal.movement.travel import AngleKind
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.files.older_formats import present_meta
from feltload.signal.profile.files.summary import FORMAT, budget_record, profile_summary
from feltload.signal.profile.force_model import ForceModel
from feltload.signal.profile.friction.band import FrictionBand
from feltload.signal.profile.health import ProfileHealth
from feltload.signal.profile.method import ProfileMethod
from feltload.signal.profile.observed.felt_inertia import FeltInertia
from feltload.signal.profile.repetitions import Repetition
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetItem, BudgetSource

CSV, JSON, MODEL = "profile.csv", "profile.json", "model.npz"
_ARRAYS = {
    "angle_rad": "angle_rad", "loads_kg": "loads_kg", "static_n": "static_n", "static_u95_n": "static_u95_n",
    "friction_n": "friction_n", "passes_raising": "raising_count", "passes_lowering": "lowering_count",
    "covariance_n2": "covariance_n2", "inertia_by_load_n_per_rad_s2": "inertia_by_load_n_per_rad_s2",
}  # fmt: skip
"""Stored name -> field of the estimate."""
_HANDLE_PATH = "handle_path_m"
_SCALE_ARRAYS = ("u_path_m", "line_rad")
"""Of the position scale, stored under these names after `scale_` where they are known."""
_DAMAGE = (
    OSError,
    ValueError,
    KeyError,
    IndexError,
    TypeError,
    EOFError,
    BadZipFile,
    zlib.error,
    RecursionError,
)
"""What reading `model.npz` raises where it is damaged."""
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_TERMS = (
    "static_n", "static_n_per_kg", "friction_n", "friction_n_per_kg", "inertia_n_per_rad_s2",
    "inertia_n_per_rad_s2_per_kg", "speed_n_per_rad2_s2", "speed_n_per_rad2_s2_per_kg",
)  # fmt: skip


def save_results(directory: str | Path, estimate: ProfileEstimate, *, overwrite: bool = False) -> list[Path]:
    """Write `profile.csv`, `profile.json` and `model.npz` into a directory, all three whole or none.

    Raises
    ------
    ResultsError
        When one of them exists and `overwrite` is false, or the directory cannot be written.
    """
    folder = Path(directory)
    paths = [folder / CSV, folder / JSON, folder / MODEL]
    present = [path.name for path in paths if path.exists()]
    if present and not overwrite:
        raise ResultsError(
            f"{', '.join(present)} already there",
            where=str(folder),
            remedy="choose another directory, or allow overwriting with --force-overwrite",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # Each has its room on the disk before the first takes its place: a table never stands beside another's model.
        with ExitStack() as parts:
            table, summary, model = (parts.enter_context(replacing(path)) for path in paths)
            table.write_text(
                estimate.to_frame().to_csv(index=False, float_format="%.6g"), "utf-8", newline=""
            )
            summary.write_text(json.dumps(profile_summary(estimate), indent=1) + "\n", "utf-8", newline="")
            model.write_bytes(_packed(estimate))
    except OSError as error:
        raise ResultsError(
            f"cannot write results: {error.strerror}",
            where=str(folder),
            remedy="make room on the disk" if error.errno in _NO_ROOM else "check the path and its rights",
        ) from error
    return paths


def load_results(directory: str | Path) -> ProfileEstimate:
    """Read back what `save_results` wrote, covariance and model included.

    Raises
    ------
    ResultsError
        When the directory holds no results or they are damaged or of a newer format.
    ProfileError
        When what they say cannot be a profile.
    """
    path = Path(directory) / MODEL
    if not path.is_file():
        raise ResultsError(
            "no profile here", where=str(directory), remedy="name the output directory of a profile"
        )
    try:
        with np.load(path, allow_pickle=False) as store:
            meta = json.loads(str(store["meta"]))
            if meta["format"] > FORMAT:
                raise ResultsError(
                    f"format {meta['format']} is newer than this program reads",
                    where=str(path),
                    remedy="update",
                )
            meta = present_meta(meta)
            arrays = {field: store[name] for name, field in _ARRAYS.items()}
            _require_shapes(arrays)
            terms = {name: store[f"model_{name}"] for name in _TERMS if f"model_{name}" in store}
            handle_path_m = store.get(_HANDLE_PATH)
            inertia = FeltInertia.from_arrays(store)
            attitudes = tuple(Attitude(**item) for item in meta.get("attitudes", ()))
            friction_band = FrictionBand.from_arrays(store)
            scale = PositionScale(
                AngleKind(meta["angle_is"]),
                meta["turning_part"],
                **{name: store.get(f"scale_{name}") for name in _SCALE_ARRAYS},
            )
            if meta["format"] == 1:
                terms["speed_n_per_rad2_s2_per_kg"] = np.zeros_like(terms["speed_n_per_rad2_s2"])
            model = ForceModel(
                **terms,
                viscous_n_per_rad_s=meta["viscous_n_per_rad_s"],
                loads_differ=meta["loads_differ"],
            )
            budget = tuple(_budget_item(item, store[f"budget_{k}"]) for k, item in enumerate(meta["budget"]))
            lags = tuple(_lag(item) for item in meta["lags"])
            repetitions = tuple(Repetition(**item) for item in meta["repetitions"])
            health = ProfileHealth.from_dict(meta["health"])
            warnings = tuple(Fact.from_dict(item) for item in meta["warnings"])
            method = ProfileMethod(meta.get("method", ProfileMethod.REPETITIONS))
    except ResultsError:
        raise
    except _DAMAGE as error:
        raise ResultsError(
            "damaged or not a profile", where=str(path), remedy="profile the recordings again"
        ) from error
    estimate = ProfileEstimate(
        machine_name=meta["machine"],
        start_angle_rad=meta["start_angle_rad"],
        u_start_angle_rad=meta["u_start_angle_rad"],
        lags=lags,
        repetitions=repetitions,
        budget=budget,
        model=model,
        angle_rms_u_rad=meta["angle_rms_u_rad"],
        health=health,
        warnings=warnings,
        handle_path_m=handle_path_m,
        felt_inertia=inertia,
        attitudes=attitudes,
        friction_band=friction_band,
        scale=scale,
        method=method,
        **arrays,
    )
    # It shares its limits with the fit, which loads for it.
    from feltload.signal.profile.quality import require_plausible

    require_plausible(estimate, where=str(directory))
    return estimate


def _require_shapes(arrays: Mapping[str, Floats]) -> None:
    """Raise ValueError unless every array is of numbers and as long as loads and positions make it."""
    loads, positions = arrays["loads_kg"].size, arrays["angle_rad"].size
    shapes = {
        "angle_rad": (positions,),
        "loads_kg": (loads,),
        "covariance_n2": (loads * positions, loads * positions),
    }
    for name, array in arrays.items():
        if array.dtype.kind not in "fiu" or array.shape != shapes.get(name, (loads, positions)):
            raise ValueError(name)
    if not np.all(np.isfinite(np.diagonal(arrays["covariance_n2"])[np.isfinite(arrays["static_n"].ravel())])):
        raise ValueError("covariance_n2")


def _lag(item: Mapping[str, Any]) -> Lag:
    readings = tuple(LagReading(**{**r, "method": LagMethod(r["method"])}) for r in item["readings"])
    return Lag(**{**item, "readings": readings})


def _budget_item(record: Mapping[str, Any], curve_n: Floats) -> BudgetItem:
    figures = {
        name: tuple(value) if isinstance(value, list) else value for name, value in record["figures"].items()
    }
    return BudgetItem(
        source=BudgetSource(record["source"]),
        curve_n=curve_n,
        basis=BudgetBasis(record["basis"]),
        session=record["session"],
        stated=record["stated"],
        figures=figures,
    )


def _packed(estimate: ProfileEstimate) -> bytes:
    """Bytes of `model.npz`."""
    meta = {
        "format": FORMAT,
        "method": estimate.method,
        "machine": estimate.machine_name,
        "start_angle_rad": estimate.start_angle_rad,
        "u_start_angle_rad": estimate.u_start_angle_rad,
        "viscous_n_per_rad_s": estimate.viscous_n_per_rad_s,
        "loads_differ": estimate.model.loads_differ,
        "lags": [asdict(lag) for lag in estimate.lags],
        "repetitions": [asdict(r) for r in estimate.repetitions],
        "budget": [budget_record(item) for item in estimate.budget],
        "angle_rms_u_rad": estimate.angle_rms_u_rad,
        "health": estimate.health.to_dict(),
        "warnings": [fact.to_dict() for fact in estimate.warnings],
        "attitudes": [asdict(attitude) for attitude in estimate.attitudes],
        "angle_is": estimate.scale.angle,
        "turning_part": estimate.scale.part,
    }
    arrays = {name: getattr(estimate, field) for name, field in _ARRAYS.items()}
    arrays |= {f"model_{name}": getattr(estimate.model, name) for name in _TERMS}
    if estimate.handle_path_m is not None:
        arrays[_HANDLE_PATH] = estimate.handle_path_m
    if estimate.felt_inertia is not None:
        arrays |= estimate.felt_inertia.arrays()
    if estimate.friction_band is not None:
        arrays |= estimate.friction_band.arrays()
    for name in _SCALE_ARRAYS:
        if (values := getattr(estimate.scale, name)) is not None:
            arrays[f"scale_{name}"] = values
    arrays |= {f"budget_{k}": item.curve_n for k, item in enumerate(estimate.budget)}
    with tempfile.TemporaryFile() as store:
        np.savez_compressed(store, meta=np.array(json.dumps(meta)), **arrays)
        store.seek(0)
        return store.read()

"""One place where tests make a profile by hand: what a test does not care about has a plain default."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from feltload.signal import ForceModel, Lag, ProfileEstimate, ProfileHealth


def built_estimate(
    angle_rad: ArrayLike, static_n: ArrayLike, loads_kg: ArrayLike = (40.0,), **given: Any
) -> ProfileEstimate:
    """A profile with the static force (m, n) of m loads on n angles; any other field of `ProfileEstimate` by name.

    Left out, friction is 6 N, u is 0.5 N without correlation, six half-repetitions went each way, and the model is the
    line through the first and last load.
    """
    angle, loads = np.asarray(angle_rad, float), np.asarray(loads_kg, float)
    static = np.asarray(static_n, float).reshape(loads.size, angle.size)
    fields: dict[str, Any] = {
        "machine_name": "invented lever",
        "start_angle_rad": float(angle[0]),
        "u_start_angle_rad": 0.005,
        "angle_rad": angle,
        "loads_kg": loads,
        "static_n": static,
        "static_u95_n": np.full(static.shape, 1.0),
        "friction_n": np.full(static.shape, 6.0),
        "raising_count": np.full(static.shape, 6),
        "lowering_count": np.full(static.shape, 6),
        "covariance_n2": 0.25 * np.eye(static.size),
        "inertia_by_load_n_per_rad_s2": np.full(static.shape, 6.0),
        "lags": (Lag(0.03, 0.0005),),
        "repetitions": (),
        "budget": (),
        "angle_rms_u_rad": 0.0005,
        "health": ProfileHealth(0.0, 1000, 0.0, 12, 6.0),
    } | given
    fields.setdefault("model", _line_model(loads, static, fields))
    return ProfileEstimate(**fields)


def _line_model(loads_kg: np.ndarray, static_n: np.ndarray, fields: dict[str, Any]) -> ForceModel:
    several = loads_kg.size > 1

    def line(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        if not several:
            return values[0], np.zeros_like(values[0])
        slope = (values[-1] - values[0]) / (loads_kg[-1] - loads_kg[0])
        return values[0] - loads_kg[0] * slope, slope

    zeros = np.zeros(static_n.shape[1])
    return ForceModel(
        *line(static_n),
        *line(fields["friction_n"]),
        *line(fields["inertia_by_load_n_per_rad_s2"]),
        zeros,
        zeros,
        viscous_n_per_rad_s=1.5,
        loads_differ=several,
    )

"""A measured machine written out by hand, so that coaching is tested apart from the estimator."""

from __future__ import annotations

import numpy as np

from built_estimate import built_estimate
from feltload.signal import ProfileEstimate

G = 9.80665


def lever_profile(
    *,
    low_deg: float = -25.0,
    high_deg: float = 45.0,
    peg_deg: float = 0.0,
    loads_kg: tuple[float, ...] = (20.0, 40.0),
    u_n: float = 0.5,
) -> ProfileEstimate:
    """A lever: arm 9 kg at 0.38 m on the handle line, peg at 0.30 m and `peg_deg` from it, handle at 0.65 m."""
    angle = np.deg2rad(np.arange(low_deg, high_deg + 0.1, 1.0))
    n = angle.size
    loads = np.array(loads_kg)
    offset = 9.0 * G * 0.38 * np.cos(angle) / 0.65
    slope = G * 0.30 * np.cos(angle + np.deg2rad(peg_deg)) / 0.65
    static = offset + loads[:, None] * slope
    friction = np.full((loads.size, n), 6.0)
    inertia = (9.0 * 0.38**2 + loads[:, None] * 0.3**2) / 0.65 * np.ones(n)
    return built_estimate(
        angle,
        static,
        loads,
        static_u95_n=np.full_like(static, 2 * u_n),
        friction_n=friction,
        covariance_n2=np.full((static.size, static.size), u_n**2),
        inertia_by_load_n_per_rad_s2=inertia,
    )

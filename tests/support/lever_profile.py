"""A measured machine written out by hand, so that coaching is tested apart from the estimator."""

from __future__ import annotations

import numpy as np

from feltload.signal import ForceModel, Lag, ProfileEstimate

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
    two = loads.size > 1
    model = ForceModel(
        static_n=offset if two else static[0],
        static_n_per_kg=slope if two else np.zeros(n),
        friction_n=np.full(n, 6.0),
        friction_n_per_kg=np.zeros(n),
        inertia_n_per_rad_s2=np.full(n, 9.0 * 0.38**2 / 0.65) if two else inertia[0],
        inertia_n_per_rad_s2_per_kg=np.full(n, 0.3**2 / 0.65) if two else np.zeros(n),
        speed_n_per_rad2_s2=np.zeros(n),
        speed_n_per_rad2_s2_per_kg=np.zeros(n),
        viscous_n_per_rad_s=1.5,
        loads_differ=two,
    )
    return ProfileEstimate(
        machine_name="invented lever",
        start_angle_rad=float(angle[0]),
        u_start_angle_rad=0.005,
        angle_rad=angle,
        loads_kg=loads,
        static_n=static,
        static_u95_n=np.full_like(static, 2 * u_n),
        raising_n=static + friction,
        lowering_n=static - friction,
        friction_n=friction,
        passes_raising=np.full(static.shape, 6),
        passes_lowering=np.full(static.shape, 6),
        covariance_n2=np.full((static.size, static.size), u_n**2),
        inertia_n_per_rad_s2=inertia[0],
        inertia_by_load_n_per_rad_s2=inertia,
        viscous_n_per_rad_s=1.5,
        lag=Lag(0.03, 0.0005),
        lags=(Lag(0.03, 0.0005),),
        repetitions=(),
        budget=(),
        model=model,
        angle_rms_u_rad=0.0005,
    )

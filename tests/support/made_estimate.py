"""A profile written down by hand, for looking at the page without measuring first (invented figures)."""

from __future__ import annotations

import numpy as np

from feltload.signal.alignment.lag import Lag, LagReading
from feltload.signal.profile.estimate import BudgetItem, ForceModel, ProfileEstimate, Repetition

GRAVITY = 9.81


def made_estimate() -> ProfileEstimate:
    """Two loads on a lever whose arm and plates sit at different angles."""
    start = np.radians(-25.0)
    angle = np.radians(np.linspace(-25.0, 50.0, 151))
    q = angle - start
    loads = np.array([20.0, 40.0])
    radius = 0.655
    arm = 9.5 * GRAVITY * 0.38 * np.cos(np.radians(-21.0) + q) / radius
    per_kg = GRAVITY * 0.27 * np.cos(np.radians(-31.0) + q) / radius
    static = np.array([arm + load * per_kg for load in loads])
    friction = np.array([4.0 + 0.05 * row.mean() + 0.0 * row for row in static])
    band = np.array([1.1 + 0.008 * row for row in static])
    sources = [
        ("force calibration gain", 0.005 * static, True, "no certificate: default"),
        ("start angle", np.gradient(static, q, axis=1) * np.radians(0.3), True, ""),
        ("zero of the force", np.full_like(static, 0.2), True, ""),
        ("spread of the repetitions", np.full_like(static, 0.25), False, ""),
        ("lag between the sensors", np.full_like(static, 0.02), True, ""),
        ("angle of the lever", np.full_like(static, 0.01), True, ""),
    ]
    total = sum(float(np.mean(curve**2)) for _, curve, _, _ in sources)
    budget = tuple(
        BudgetItem(
            source=name,
            curve_n=curve,
            u_n=float(np.sqrt(np.mean(curve**2))),
            share=float(np.mean(curve**2)) / total,
            systematic=systematic,
            stated=not note,
            note=note,
        )
        for name, curve, systematic, note in sources
    )
    repetitions = tuple(
        Repetition(
            session=f"lever-{load:.0f}kg", side=None, load_kg=float(load), index=index,
            start_s=6.0 + 5.0 * index, turn_s=8.0 + 5.0 * index, end_s=10.5 + 5.0 * index,
            low_rad=0.0, high_rad=1.31, range_rad=1.31 - 0.01 * index, range_lost=0.006 * index,
            concentric_s=tempo, eccentric_s=tempo + 0.6, hold_s=0.3, mean_rate_rad_s=1.7 / tempo,
            peak_rate_rad_s=2.6 / tempo, mean_n=0.8 * peak, peak_n=peak, work_j_per_m=1.4 * peak,
            work_j=0.9 * peak, mean_power_w=0.9 * peak / tempo, peak_power_w=1.5 * peak / tempo,
            impulse_n_s=5.0 * peak, under_tension_s=2.0 * tempo, complete=True,
        )
        for load, peak in ((20.0, 141.0), (40.0, 236.0))
        for index, tempo in enumerate((2.4, 2.2, 2.3, 0.9, 0.8))
    )  # fmt: skip
    zeros = np.zeros_like(angle)
    return ProfileEstimate(
        machine_name="lever row, bench prototype",
        start_angle_rad=float(start),
        u_start_angle_rad=float(np.radians(0.3)),
        angle_rad=angle,
        loads_kg=loads,
        static_n=static,
        static_u95_n=band,
        raising_n=static + friction,
        lowering_n=static - friction,
        friction_n=friction,
        passes_raising=np.full(static.shape, 5, dtype=np.int64),
        passes_lowering=np.full(static.shape, 5, dtype=np.int64),
        covariance_n2=np.eye(static.size) * 0.25,
        inertia_n_per_rad_s2=np.full_like(angle, 6.0),
        inertia_by_load_n_per_rad_s2=np.full_like(static, 6.0),
        viscous_n_per_rad_s=1.2,
        lag=Lag(0.024, 0.001, (LagReading("dynamics", 0.024, 0.001),)),
        lags=(Lag(0.024, 0.001, (LagReading("dynamics", 0.024, 0.001),)),),
        repetitions=repetitions,
        budget=budget,
        model=ForceModel(arm, per_kg, zeros + 4.0, zeros, zeros + 6.0, zeros, zeros, zeros, 1.2, True),
        angle_rms_u_rad=0.0006,
        health={},
        warnings=(),
    )

"""A profile written down by hand, for looking at the page without measuring first (invented figures)."""

from __future__ import annotations

import numpy as np

from built_estimate import built_estimate
from feltload.signal import (
    BudgetBasis,
    BudgetItem,
    BudgetSource,
    Lag,
    LagMethod,
    LagReading,
    ProfileEstimate,
    Repetition,
)

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
    budget = (
        BudgetItem(BudgetSource.FORCE_GAIN, 0.005 * static, BudgetBasis.DEFAULT, stated=False),
        BudgetItem(BudgetSource.START_ANGLE, np.gradient(static, q, axis=1) * np.radians(0.3)),
        BudgetItem(BudgetSource.FORCE_ZERO, np.full_like(static, 0.2)),
        BudgetItem(BudgetSource.REPEATABILITY, np.full_like(static, 0.25)),
        BudgetItem(BudgetSource.LAG, np.full_like(static, 0.02)),
        BudgetItem(BudgetSource.ANGLE_SHAPE, np.full_like(static, 0.01)),
    )
    repetitions = tuple(
        Repetition(
            session=f"lever-{load:.0f}kg", side=None, load_kg=float(load), index=index,
            start_s=6.0 + 5.0 * index, turn_s=8.0 + 5.0 * index, end_s=10.5 + 5.0 * index,
            low_rad=0.0, high_rad=1.31 - 0.01 * index, range_lost=0.006 * index,
            concentric_s=tempo, eccentric_s=tempo + 0.6, hold_s=0.3, mean_rate_rad_s=1.7 / tempo,
            peak_rate_rad_s=2.6 / tempo, mean_n=0.8 * peak, peak_n=peak, work_j_per_m=1.4 * peak,
            work_j=0.9 * peak, peak_power_w=1.5 * peak / tempo,
            impulse_n_s=5.0 * peak, under_tension_s=2.0 * tempo, complete=True,
        )
        for load, peak in ((20.0, 141.0), (40.0, 236.0))
        for index, tempo in enumerate((2.4, 2.2, 2.3, 0.9, 0.8))
    )  # fmt: skip
    return built_estimate(
        angle,
        static,
        loads,
        machine_name="lever row, bench prototype",
        u_start_angle_rad=float(np.radians(0.3)),
        static_u95_n=band,
        friction_n=friction,
        raising_count=np.full(static.shape, 5, dtype=np.int64),
        lowering_count=np.full(static.shape, 5, dtype=np.int64),
        lags=(Lag(0.024, 0.001, (LagReading(LagMethod.DYNAMICS, 0.024, 0.001),)),),
        repetitions=repetitions,
        budget=budget,
        angle_rms_u_rad=0.0006,
    )

"""An emulated load cell: from the true pull to the counts that its amplifier sends."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from feltload.core import Floats, Indices
from feltload.emulator.sensors.low_pass import CausalLowPass
from feltload.emulator.sensors.sensor_class import ForceSensorClass


def draw_force_errors(kind: ForceSensorClass, systematic: bool, rng: Generator) -> dict[str, float]:
    """True errors of one load cell."""
    return {
        "force_zero_n": kind.zero_n + float(rng.normal(0.0, kind.zero_sd_n)),
        "force_drift_n_per_s": float(rng.normal(0.0, kind.drift.steady_n_per_min)) / 60.0,
        "force_gain": float(rng.normal(0.0, kind.gain_sd)) * float(systematic),
    }


def force_counts(
    kind: ForceSensorClass,
    errors: dict[str, float],
    grid_s: Floats,
    pull_n: Floats,
    sample_s: Floats,
    rng: Generator,
) -> tuple[Indices, float]:
    """Converter counts at the sample times, and the delay of filter and latency together, s."""
    low_pass = CausalLowPass(kind.low_pass_hz, 1.0 / (grid_s[1] - grid_s[0]))
    seen = np.interp(sample_s - kind.latency_s, grid_s, low_pass(pull_n))
    bent = seen + kind.bend_per_n * seen**2
    reading = (1.0 + errors["force_gain"]) * bent + errors["force_zero_n"]
    # Draws of its own, so that a session without them stays the same.
    wander = kind.drift.wander_n(sample_s, rng.spawn(1)[0])
    drift = errors["force_drift_n_per_s"] * sample_s + wander
    errors["force_drift_n"] = float(drift[-1])
    reading = reading + drift + rng.normal(0.0, kind.noise_n, sample_s.size)
    limit = round(kind.capacity_n / kind.count_n)
    counts = np.clip(np.rint(reading / kind.count_n), -limit, limit).astype(np.int64)
    return counts, low_pass.delay_s + kind.latency_s

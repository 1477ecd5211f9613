"""Overlapping Allan deviation and the noise densities read from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Floats, Indices
from feltload.signal import SignalError


@dataclass(frozen=True)
class AllanDeviation:
    """Overlapping Allan deviation over averaging times.

    Attributes
    ----------
    tau_s : ndarray, shape (m,)
        Averaging times, seconds.
    deviation : ndarray, shape (m,)
        In the unit of the data.
    pairs : ndarray of int, shape (m,)
        How many differences each value averages.
    """

    tau_s: Floats
    deviation: Floats
    pairs: Indices


def averaging_factors(count: int, *, per_decade: int = 8) -> Indices:
    """Averaging factors spaced evenly in the logarithm, from 1 to a third of the samples."""
    top = max(1, (count - 1) // 3)
    steps = max(2, int(np.ceil(np.log10(top) * per_decade)) + 1) if top > 1 else 1
    return np.unique(np.round(np.logspace(0.0, np.log10(top), steps)).astype(np.int64))


def overlapping_allan(values: ArrayLike, rate_hz: float, factors: ArrayLike | None = None) -> AllanDeviation:
    """Overlapping Allan deviation of rate data (angular rate, acceleration, frequency).

    Parameters
    ----------
    values : array_like, shape (n,)
        Evenly sampled, at least three.
    rate_hz : float
    factors : array_like of int, optional
        Averaging factors; spaced in the logarithm by default. Those too long for the data are left out.

    Returns
    -------
    AllanDeviation

    References
    ----------
    NIST Special Publication 1065 (W. J. Riley, 2008), overlapping Allan variance from phase data.
    """
    samples = np.asarray(values, dtype=float)
    if samples.ndim != 1 or len(samples) < 3:
        raise SignalError("an Allan deviation needs three samples or more", remedy="record for longer")
    wanted = averaging_factors(len(samples)) if factors is None else np.asarray(factors, dtype=np.int64)
    wanted = wanted[(wanted >= 1) & (2 * wanted <= len(samples))]
    # Remove the mean before summing: the second difference does not see it, the rounding does.
    phase = np.concatenate([[0.0], np.cumsum(samples - samples.mean())])
    deviations = np.empty(len(wanted))
    pairs = np.empty(len(wanted), dtype=np.int64)
    for row, m in enumerate(wanted):
        second = phase[2 * m :] - 2.0 * phase[m:-m] + phase[: -2 * m]
        pairs[row] = len(second)
        deviations[row] = np.sqrt(np.mean(second**2) / 2.0) / m
    return AllanDeviation(wanted / rate_hz, deviations, pairs)


@dataclass(frozen=True)
class NoiseCoefficients:
    """What an Allan deviation says about a sensor, in the unit of the data x.

    Attributes
    ----------
    white_density : float
        N, x per root hertz (angle or velocity random walk).
    bias_instability : float
        B, x: the flat floor divided by sqrt(2 ln 2 / pi).
    rate_walk : float or None
        K, x per root second, if the record is long enough to show it.
    """

    white_density: float
    bias_instability: float
    rate_walk: float | None


def noise_coefficients(allan: AllanDeviation) -> NoiseCoefficients:
    """Noise coefficients of IEEE Std 952 (from memory) read from an Allan deviation.

    White noise falls as tau**-1/2 and crosses N at tau = 1 s; the floor is 0.664 B; a rate random walk
    rises as K (tau / 3)**1/2.
    """
    tau, deviation, pairs = allan.tau_s, allan.deviation, allan.pairs
    if not len(tau) or not np.any(deviation > 0.0):
        raise SignalError("the samples do not vary", remedy="check the sensor's resolution")
    floor = int(np.argmin(deviation))
    # White noise: average the squared coefficient before the floor starts to lift the curve.
    falling = deviation > 2.0 * deviation[floor] if floor > 3 else np.arange(len(tau)) <= max(floor // 2, 0)
    falling &= np.arange(len(tau)) <= floor
    if not np.any(falling):
        falling[0] = True
    weight = pairs[falling].astype(float)
    white = float(np.sqrt(np.average(deviation[falling] ** 2 * tau[falling], weights=weight)))
    instability = float(deviation[floor] / np.sqrt(2.0 * np.log(2.0) / np.pi))
    rising = np.arange(len(tau)) > floor
    rising &= deviation > 1.5 * deviation[floor]
    walk = float(np.sqrt(np.median(3.0 * deviation[rising] ** 2 / tau[rising]))) if np.any(rising) else None
    return NoiseCoefficients(white, instability, walk)

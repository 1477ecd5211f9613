"""Single wild samples of the gyroscope, as a disturbed bus makes them: found among motion and knocks, and bridged.

Integrated, one wild sample turns the arm for good, so the smoother cannot weigh it down as it does with wild samples of
the accelerometer, which are left alone: in that a knock looks just like one.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feltload.core import Flags, Floats
from feltload.signal.noise.densities import sample_noise

#: Longest run of wild samples that is bridged.
LONGEST = 2
#: Smallest jump over the noise of a sample, and over how far its neighbours are apart.
OVER_NOISE = 25.0
OVER_NEIGHBOURS = 4.0
#: Out and back from one sample to the next with this angular acceleration is no machine's motion, rad/s².
IMPOSSIBLE_RAD_S2 = 300.0
#: With this it is none either if an accelerometer this far from the pivot, or farther, felt nothing of it.
UNFELT_RAD_S2, UNFELT_M = 40.0, 0.02
#: Samples on either side whose roughness tells ringing from a smooth motion, and how many of them next to the jump.
BESIDE = 7
NEXT = 3
#: How much of the jump that roughness may have; less if the accelerometer felt something, as it does with a knock.
ROUGHNESS, ROUGHNESS_FELT = 0.15, 0.04
#: Between successive samples no arm on a machine changes its rate by this, both in rad/s and in rad/s².
JUMP_RAD_S, JUMP_RAD_S2 = 8.0, 1500.0


def wild_samples(times: Floats, gyro: Floats, accel: Floats, rate_hz: float) -> Flags:
    """Samples of the gyroscope that jump out and back at once while the motion around them is smooth.

    Parameters
    ----------
    times : ndarray, shape (n,)
        Strictly increasing.
    gyro, accel : ndarray, shape (n, 3)
        rad/s and m/s².
    rate_hz : float

    Returns
    -------
    ndarray of bool, shape (n,)

    Notes
    -----
    A knock on a stop changes the rate without taking it back, or rings: then the samples beside are rough too, on
    one side at least. A true turn out and back shows in the tangential acceleration of the sensor.
    """
    count = len(gyro)
    wild = np.zeros(count, dtype=bool)
    if count < 2 * BESIDE:
        return wild
    floor = UNFELT_RAD_S2 / rate_hz
    # What jumps out lies far from the sample before: few places have to be looked at.
    step = np.diff(gyro, axis=0)
    near = np.flatnonzero((step * step) @ np.ones(3) > (0.5 * floor) ** 2) + 1
    if not len(near):
        return wild
    floor = max(OVER_NOISE * float(np.median(sample_noise(gyro))), floor)
    rough, felt = _bend(gyro), _bend(accel)
    for width in range(1, LONGEST + 1):
        first = near[near + width < count]
        first = first[times[first + width] - times[first - 1] < (width + 1.5) / rate_hz]
        left, right = gyro[first - 1], gyro[first + width]
        apart = np.linalg.norm(right - left, axis=1)
        touched = np.max([felt[first - 1 + at] for at in range(width + 2)], axis=0)
        out = np.stack(
            [gyro[first + at] - left - (at + 1.0) / (width + 1.0) * (right - left) for at in range(width)]
        )
        jump = np.min(np.linalg.norm(out, axis=2), axis=0)
        turning = jump * rate_hz
        unfelt = touched < UNFELT_M * turning
        # The roughness of samples that touch the jump itself takes no part.
        before, after = _beside(rough, first - 2, -1), _beside(rough, first + width + 1, 1)
        typical = np.maximum(np.median(before, axis=1), np.median(after, axis=1))
        most = np.maximum(before[:, :NEXT].max(axis=1), after[:, :NEXT].max(axis=1))
        # A well damped ring goes out one way and the other; wild samples side by side that do so are left too.
        one_way = np.sum(out[0] * out[-1], axis=1) > 0.0
        single = one_way & (jump > np.maximum(floor, OVER_NEIGHBOURS * apart))
        single &= np.where(
            unfelt,
            (turning > UNFELT_RAD_S2) & (typical < ROUGHNESS * jump),
            (turning > IMPOSSIBLE_RAD_S2) & (np.maximum(typical, most) < ROUGHNESS_FELT * jump),
        )
        for at in range(width):
            wild[first[single] + at] = True
    return wild


def bridged(times: Floats, values: Floats, wild: Flags) -> Floats:
    """Values with the flagged samples on the straight line between their neighbours."""
    out = values.copy()
    for column in range(values.shape[1]):
        out[wild, column] = np.interp(times[wild], times[~wild], values[~wild, column])
    return out


def _bend(values: Floats) -> Floats:
    """Distance of each sample from the middle of its neighbours, (n,)."""
    out = np.zeros(len(values))
    out[1:-1] = np.linalg.norm(values[1:-1] - 0.5 * (values[:-2] + values[2:]), axis=1)
    return out


def _beside(rough: Floats, start: NDArray[np.intp], way: int) -> Floats:
    """Roughness from each start on in one direction, (s, BESIDE); beyond the ends of the record all is smooth."""
    at = start[:, None] + way * np.arange(BESIDE)
    inside = (at >= 0) & (at < len(rough))
    return np.where(inside, rough[np.clip(at, 0, len(rough) - 1)], 0.0)


def jumps(gyro: Floats, rate_hz: float) -> Flags:
    """Steps from each sample to the next that no arm makes, (n - 1,)."""
    step = np.diff(gyro, axis=0)
    size = np.sqrt((step * step) @ np.ones(3))
    return np.asarray((size > JUMP_RAD_S) & (size * rate_hz > JUMP_RAD_S2))


def disturbed_stretches(gyro: Floats, rate_hz: float) -> Flags:
    """Samples of the gyroscope from one jump that no arm makes to the next, (n,): their rotation is not known."""
    flags = np.zeros(len(gyro), dtype=bool)
    at = np.flatnonzero(jumps(gyro, rate_hz))
    if not len(at):
        return flags
    cuts = np.flatnonzero(np.diff(at) > BESIDE) + 1
    for group in np.split(at, cuts):
        flags[group[0] + 1 : group[-1] + 1] = True
    return flags

"""Still attitudes found in a recording of an inertial sensor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Floats, runs_of_true

_WINDOW_S: Final = 0.5
_SHORTEST_S: Final = 1.0
# Stillness is judged against the recording's own quietest windows, never below what a table in a gym moves.
_QUIET_MULTIPLE: Final = 4.0
_GYRO_FLOOR_RAD_S: Final = 0.005
_ACCEL_FLOOR_M_S2: Final = 0.02
_STEADY_TURN_RAD_S: Final = 0.05
_SAME_ATTITUDE_RAD: Final = np.radians(5.0)


@dataclass(frozen=True)
class StillAttitude:
    """One stretch in which the sensor lay still.

    Attributes
    ----------
    start_s, end_s : float
    accel_m_s2, gyro_rad_s : ndarray (3,)
        Mean readings.
    samples : int
    u_accel_m_s2 : float
        Standard uncertainty of a mean acceleration by the sensor's own noise.
    """

    start_s: float
    end_s: float
    accel_m_s2: Floats
    gyro_rad_s: Floats
    samples: int
    u_accel_m_s2: float


def _moving_sd(values: Floats, width: int) -> Floats:
    """Standard deviation (root sum over axes) in a window centred on each sample."""
    centred = values - values.mean(axis=0)
    sums = np.cumsum(np.vstack([np.zeros(3), centred]), axis=0)
    squares = np.cumsum(np.vstack([np.zeros(3), centred**2]), axis=0)
    mean = (sums[width:] - sums[:-width]) / width
    variance = np.maximum((squares[width:] - squares[:-width]) / width - mean**2, 0.0).sum(axis=1)
    before = width // 2
    return np.pad(np.sqrt(variance), (before, width - 1 - before), mode="edge")


def find_attitudes(time_s: ArrayLike, gyro_rad_s: ArrayLike, accel_m_s2: ArrayLike) -> list[StillAttitude]:
    """Stretches of a second or more in which neither sensor moved.

    Parameters
    ----------
    time_s : array_like (n,)
    gyro_rad_s, accel_m_s2 : array_like (n, 3)

    Returns
    -------
    list of StillAttitude
        In order of time; one attitude taken twice appears twice.
    """
    time = np.asarray(time_s, dtype=float)
    gyro, accel = np.asarray(gyro_rad_s, dtype=float), np.asarray(accel_m_s2, dtype=float)
    if len(time) < 8:
        return []
    width = max(4, round(_WINDOW_S / float(np.median(np.diff(time)))))
    if len(time) <= 2 * width:
        return []
    still = np.ones(len(time), dtype=bool)
    for values, floor in ((gyro, _GYRO_FLOOR_RAD_S), (accel, _ACCEL_FLOOR_M_S2)):
        spread = _moving_sd(values, width)
        still &= spread < max(_QUIET_MULTIPLE * float(np.quantile(spread, 0.02)), floor)
    attitudes = []
    for first, stop in runs_of_true(still):
        # The window at each end of a stretch already touches the motion next to it.
        start, end = first + width // 4, stop - width // 4
        if end <= start or time[end - 1] - time[start] < _SHORTEST_S:
            continue
        attitudes.append(
            StillAttitude(
                float(time[start]),
                float(time[end - 1]),
                accel[start:end].mean(axis=0),
                gyro[start:end].mean(axis=0),
                end - start,
                float(np.sqrt(np.mean(np.diff(accel[start:end], axis=0) ** 2) / 2.0 / (end - start))),
            )
        )
    # A steady turn has no spread either, but its rate is not the bias that the others share.
    bias = np.median(gyro[still], axis=0) if attitudes else np.zeros(3)
    return [item for item in attitudes if np.linalg.norm(item.gyro_rad_s - bias) < _STEADY_TURN_RAD_S]


def distinct(attitudes: list[StillAttitude]) -> list[StillAttitude]:
    """Attitudes that differ by more than five degrees; of equal ones, the longest."""
    kept: list[StillAttitude] = []
    for attitude in sorted(attitudes, key=lambda item: -item.samples):
        unit = attitude.accel_m_s2 / np.linalg.norm(attitude.accel_m_s2)
        others = [other.accel_m_s2 / np.linalg.norm(other.accel_m_s2) for other in kept]
        if all(float(unit @ other) < np.cos(_SAME_ATTITUDE_RAD) for other in others):
            kept.append(attitude)
    return sorted(kept, key=lambda item: item.start_s)

"""Quick inertial samples averaged to a rate that a shown position needs."""

from __future__ import annotations

import math

import numpy as np

from feltload.core import Floats


class Blocks:
    """Averages samples in blocks of equal size.

    Parameters
    ----------
    rate_hz : float
        Blocks a second, about and at most; slower sensors are left as they are.
    """

    def __init__(self, rate_hz: float) -> None:
        self._rate_hz = rate_hz
        self._rest: tuple[Floats, Floats, Floats] | None = None
        self._size: int | None = None

    def push(self, times: Floats, gyro: Floats, accel: Floats) -> tuple[Floats, Floats, Floats]:
        """Whole blocks of what was pushed so far."""
        if self._rest is not None:
            rest = self._rest
            times, gyro, accel = (
                np.concatenate(pair) for pair in zip(rest, (times, gyro, accel), strict=True)
            )
        if self._size is None:
            if times.size < 20 or not times[-1] > times[0]:
                self._rest = (times, gyro, accel)
                return times[:0], gyro[:0], accel[:0]
            rate_hz = (times.size - 1) / float(times[-1] - times[0])
            self._size = max(1, math.ceil(rate_hz / self._rate_hz - 0.2))
        count = times.size // self._size
        whole = count * self._size
        self._rest = times[whole:], gyro[whole:], accel[whole:]
        return (
            times[:whole].reshape(count, -1).mean(axis=1) if count else times[:0],
            gyro[:whole].reshape(count, self._size, 3).mean(axis=1),
            accel[:whole].reshape(count, self._size, 3).mean(axis=1),
        )

"""A session's motion and force on one clock, as the coaching functions take it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Motion:
    """Uniform samples of one side.

    Attributes
    ----------
    time_s, angle_rad, rate_rad_s, accel_rad_s2, force_n : ndarray, shape (n,)
        Time, elevation of the handle's line, its derivatives, and the handle force, lag taken out.
    repetitions : tuple of (start_s, turn_s, end_s)
        Start, end of the concentric phase, and end of each repetition.
    u_zero_n, u_lag_n : float
        Standard uncertainty of the force from this session's zero, and from its lag at this tempo.
    """

    time_s: Array
    angle_rad: Array
    rate_rad_s: Array
    accel_rad_s2: Array
    force_n: Array
    repetitions: tuple[tuple[float, float, float], ...]
    u_zero_n: float = 0.0
    u_lag_n: float = 0.0

    @property
    def rate_hz(self) -> float:
        """Samples per second."""
        return float(1.0 / np.median(np.diff(self.time_s)))

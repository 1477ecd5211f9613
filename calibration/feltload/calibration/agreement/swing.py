"""Free swing of the unloaded arm: its period gives m g d / I without the load cell.

A pendulum of moment m g d and inertia I swings with ω0² = m g d / I for small amplitudes; at amplitude A the period
is longer by 2 K(sin²(A/2)) / π with K the complete elliptic integral of the first kind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
import scipy
from numpy.typing import ArrayLike, NDArray

from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.machine import Machine
from feltload.core import EXPANDED_COVERAGE_K, STANDARD_GRAVITY_M_S2, Flags, Floats
from feltload.signal import estimate_hinge, join_clock

_FEWEST_PERIODS: Final = 3
_SMALLEST_SWING_RAD: Final = np.radians(1.0)


@dataclass(frozen=True)
class Swing:
    """A free swing, reduced to small amplitude.

    Attributes
    ----------
    moment_over_inertia : float
        m g d / I, 1/s², and its standard uncertainty `u`.
    rest_rad : float
        Rotation about which it swings.
    amplitude_rad : float
        Largest amplitude used.
    periods : int
        Periods used.
    """

    moment_over_inertia: float
    u: float
    rest_rad: float
    amplitude_rad: float
    periods: int


@dataclass(frozen=True)
class SwingCheck:
    """A free swing compared with the surveyed arm.

    Attributes
    ----------
    swing : Swing
        As measured.
    predicted, u_predicted : float
        m g d / I of the survey, 1/s², and its standard uncertainty.
    """

    swing: Swing
    predicted: float
    u_predicted: float

    @property
    def en(self) -> float:
        """E_n of m g d / I with expanded uncertainties, k = 2."""
        together = EXPANDED_COVERAGE_K * math.hypot(self.swing.u, self.u_predicted)
        return (self.swing.moment_over_inertia - self.predicted) / together

    @property
    def agrees(self) -> bool:
        """Whether the swing is as the survey has it."""
        return abs(self.en) <= 1.0


def period_ratio(amplitude_rad: ArrayLike) -> Floats:
    """Period at an amplitude over the small-amplitude period."""
    return np.asarray(2.0 / np.pi * scipy.special.ellipk(np.sin(np.asarray(amplitude_rad) / 2.0) ** 2))


def measure_swing(time_s: Floats, q_rad: Floats) -> Swing:
    """Reduce a free swing to m g d / I.

    Parameters
    ----------
    time_s, q_rad : ndarray, shape (n,)
        Time and rotation of the arm while nobody touches it.

    Raises
    ------
    AgreementError
        Fewer than three full periods of at least 1°.
    """
    turns = _changes(np.gradient(q_rad, time_s) > 0.0)
    # Noise turns back and forth within a turning point: keep the extreme of each side of the middle.
    middle = float(np.median(q_rad[turns])) if turns.size else 0.0
    extremes: list[int] = []
    for i in turns:
        at = int(i + np.argmax(np.abs(q_rad[i : i + 2] - middle)))
        if extremes and (q_rad[extremes[-1]] > middle) == (q_rad[at] > middle):
            if abs(q_rad[at] - middle) > abs(q_rad[extremes[-1]] - middle):
                extremes[-1] = at
        else:
            extremes.append(at)
    tops = q_rad[extremes]
    if tops.size < 2 * _FEWEST_PERIODS + 1:
        raise AgreementError(
            f"the free swing has {max(tops.size - 1, 0) / 2:.0f} periods",
            where="free swing",
            remedy="unhook the handle, lift the unloaded arm a little, let go, and record five or more swings",
        )
    rests = (tops[:-2] + 2.0 * tops[1:-1] + tops[2:]) / 4.0
    rest = float(np.mean(rests))
    # Crossings of the rest position are sharper in time than turning points.
    about = q_rad - rest
    index = _changes(about > 0.0)
    index = index[(index >= extremes[0]) & (index < extremes[-1])]
    fraction = -about[index] / (about[index + 1] - about[index])
    crossings = time_s[index] + fraction * (time_s[index + 1] - time_s[index])
    periods = crossings[2:] - crossings[:-2]
    centres = crossings[1:-1]
    amplitude = np.interp(centres, time_s[extremes], np.abs(tops - rest))
    usable = amplitude > _SMALLEST_SWING_RAD
    if np.count_nonzero(usable) < _FEWEST_PERIODS:
        raise AgreementError(
            f"the free swing is smaller than {np.degrees(_SMALLEST_SWING_RAD):.0f}°",
            where="free swing",
            remedy="lift the arm further before letting go",
        )
    small = periods[usable] / period_ratio(amplitude[usable])
    weight = amplitude[usable] ** 2
    period = float(np.average(small, weights=weight))
    spread = float(np.sqrt(np.average((small - period) ** 2, weights=weight)))
    # Overlapping periods share crossings: half of them count.
    u_period = spread / np.sqrt(max(small.size / 2.0, 1.0))
    value = (2.0 * np.pi / period) ** 2
    return Swing(
        value,
        2.0 * value * u_period / period,
        rest,
        float(amplitude.max()),
        int(small.size),
    )


def _changes(flags: Flags) -> NDArray[np.intp]:
    """Last sample before each change."""
    return np.flatnonzero(flags[1:] != flags[:-1])


def check_recorded_swing(
    inertial: pd.DataFrame,
    machine: Machine,
    *,
    g_m_s2: float = STANDARD_GRAVITY_M_S2,
    u_g_m_s2: float = 0.0,
) -> SwingCheck:
    """Reduce the recorded free swing of the unloaded arm, and compare it with the survey.

    Parameters
    ----------
    inertial : DataFrame
        Inertial stream of the recording, begun when the arm swings already: ``host_s``, ``device_s``, ``seq``,
        ``gyro_x_rad_s`` ... ``accel_z_m_s2``.
    machine : Machine
        The survey.
    g_m_s2, u_g_m_s2 : float
        Local gravity and its standard uncertainty.

    Raises
    ------
    AgreementError
        Too few or too small swings, or the surveyed arm does not hang anywhere.
    """
    # A clock of its own keeps time better than the arrivals do.
    clock = join_clock(*(inertial[name].to_numpy(float) for name in ("host_s", "device_s", "seq")))
    gyro = inertial[[f"gyro_{axis}_rad_s" for axis in "xyz"]].to_numpy(float)
    accel = inertial[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy(float)
    motion = estimate_hinge(clock.time_s, gyro, accel)
    swing = measure_swing(motion.time_s, motion.q_rad)
    return check_swing(swing, machine, g_m_s2=g_m_s2, u_g_m_s2=u_g_m_s2)


def check_swing(
    swing: Swing, machine: Machine, *, g_m_s2: float = STANDARD_GRAVITY_M_S2, u_g_m_s2: float = 0.0
) -> SwingCheck:
    """Compare a free swing with the surveyed machine without load.

    Parameters
    ----------
    swing : Swing
        Measured.
    machine : Machine
        The survey.
    g_m_s2, u_g_m_s2 : float
        Local gravity and its standard uncertainty.

    Raises
    ------
    AgreementError
        The surveyed arm does not hang anywhere.
    """
    predicted = swing_of(machine, g_m_s2)
    variance = (predicted * u_g_m_s2 / g_m_s2) ** 2
    for parameter in machine.parameters:
        if parameter.u > 0.0:
            moved = machine.with_parameters({parameter.key: parameter.value + parameter.u})
            variance += (swing_of(moved, g_m_s2) - predicted) ** 2
    return SwingCheck(swing, predicted, math.sqrt(variance))


def swing_of(machine: Machine, g: float) -> float:
    """m g d / I of the surveyed arm about the rest position nearest to its start stop."""

    def gradient(q: float) -> float:
        return float(machine.terms(np.array([q]), 0.0, g).gradient[0])

    grid = np.radians(np.linspace(-180.0, 180.0, 361))
    slopes = machine.terms(grid, 0.0, g).gradient
    rising = np.flatnonzero((slopes[:-1] <= 0.0) & (slopes[1:] > 0.0))
    if rising.size == 0:
        raise AgreementError(
            "the surveyed arm has no rest position within 180° of its start stop",
            where=machine.name,
            remedy="check the angles of its masses",
        )
    k = int(rising[np.argmin(np.abs(grid[rising]))])
    rest = float(scipy.optimize.brentq(gradient, grid[k], grid[k + 1]))
    step = 1e-4
    stiffness = (gradient(rest + step) - gradient(rest - step)) / (2.0 * step)
    return stiffness / float(machine.terms(np.array([rest]), 0.0, g).inertia[0])

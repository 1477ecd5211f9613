"""Free swing of the unloaded arm: its period gives m g d / I without the load cell.

A pendulum of moment m g d and inertia I swings with ω0² = m g d / I for small amplitudes; at amplitude A the period
is longer by 2 K(sin²(A/2)) / π with K the complete elliptic integral of the first kind.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import ellipk

from feltload.calibration.errors import AgreementError
from feltload.calibration.machine.machine import Machine
from feltload.core import STANDARD_GRAVITY_M_S2, Floats
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
        Rotation from the start stop about which it swings, and its standard uncertainty `u_rest_rad`.
    amplitude_rad : float
        Largest amplitude used.
    periods : int
        Periods used.
    """

    moment_over_inertia: float
    u: float
    rest_rad: float
    u_rest_rad: float
    amplitude_rad: float
    periods: int


@dataclass(frozen=True)
class SwingCheck:
    """A free swing held against the surveyed arm.

    Attributes
    ----------
    predicted, u_predicted : float
        m g d / I of the survey, 1/s².
    en : float
        E_n of the ratio; |E_n| <= 1 agrees.
    predicted_rest_rad : float
        Where the surveyed arm would hang.
    """

    swing: Swing
    predicted: float
    u_predicted: float
    en: float
    predicted_rest_rad: float
    text: str

    @property
    def agrees(self) -> bool:
        """Whether the swing is as the survey has it."""
        return abs(self.en) <= 1.0


def period_ratio(amplitude_rad: ArrayLike) -> Floats:
    """Period at an amplitude over the small-amplitude period."""
    return np.asarray(2.0 / np.pi * ellipk(np.sin(np.asarray(amplitude_rad) / 2.0) ** 2))


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
    rate = np.gradient(q_rad, time_s)
    turns = np.flatnonzero(np.sign(rate[1:]) * np.sign(rate[:-1]) < 0)
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
    index = np.flatnonzero(np.sign(about[1:]) * np.sign(about[:-1]) < 0)
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
        float(np.std(rests) / np.sqrt(rests.size)),
        float(amplitude.max()),
        int(small.size),
    )


def check_recorded_swing(
    inertial: pd.DataFrame,
    machine: Machine,
    *,
    g_m_s2: float = STANDARD_GRAVITY_M_S2,
    u_g_m_s2: float = 0.0,
) -> SwingCheck:
    """Reduce the recorded free swing of the unloaded arm, and hold it against the survey.

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
    return check_swing(swing, machine, g_m_s2=g_m_s2, u_g_m_s2=u_g_m_s2, from_stop=False)


def check_swing(
    swing: Swing,
    machine: Machine,
    *,
    g_m_s2: float = STANDARD_GRAVITY_M_S2,
    u_g_m_s2: float = 0.0,
    from_stop: bool = True,
) -> SwingCheck:
    """Hold a free swing against the surveyed machine without load.

    Parameters
    ----------
    swing : Swing
        Measured.
    machine : Machine
        The survey.
    g_m_s2, u_g_m_s2 : float
        Local gravity and its standard uncertainty.
    from_stop : bool
        Whether the swing's rotation counts from the start stop; only then is its rest position compared.

    Raises
    ------
    AgreementError
        The surveyed arm has no rest position near the measured one.
    """
    near = swing.rest_rad if from_stop else None
    predicted, rest = _predict(machine, near, g_m_s2)
    variance = (predicted * u_g_m_s2 / g_m_s2) ** 2
    for parameter in machine.parameters:
        if parameter.u > 0.0:
            moved = machine.with_parameters({parameter.name: parameter.value + parameter.u})
            variance += (_predict(moved, near, g_m_s2)[0] - predicted) ** 2
    u_predicted = float(np.sqrt(variance))
    en = (swing.moment_over_inertia - predicted) / (2.0 * np.hypot(swing.u, u_predicted))
    verdict = "agrees with" if abs(en) <= 1.0 else "differs from"
    score = f"{en:.2f}".replace("-", "−")
    text = (
        f"The free swing gives m g d / I = {swing.moment_over_inertia:.3f} 1/s², which {verdict} the surveyed arm's "
        f"{predicted:.3f} 1/s² (E_n {score})."
    )
    if from_stop:
        text += f" It hangs {np.degrees(swing.rest_rad - rest):+.1f}° from where the survey puts its rest."
    return SwingCheck(swing, predicted, u_predicted, float(en), rest, text)


def _predict(machine: Machine, near_rad: float | None, g: float) -> tuple[float, float]:
    """m g d / I and rest position of the surveyed arm, within 60° of `near_rad` or anywhere."""

    def gradient(q: float) -> float:
        return float(machine.terms(np.array([q]), 0.0, g).gradient[0])

    centre, reach = (near_rad, 60.0) if near_rad is not None else (0.0, 180.0)
    grid = centre + np.radians(np.linspace(-reach, reach, int(2 * reach) + 1))
    slopes = machine.terms(grid, 0.0, g).gradient
    rising = np.flatnonzero((slopes[:-1] <= 0.0) & (slopes[1:] > 0.0))
    if rising.size == 0:
        raise AgreementError(
            f"the surveyed arm has no rest position within {reach:.0f}° of "
            + ("its start stop" if near_rad is None else "the measured one"),
            where=machine.name,
            remedy="check the angles of its masses",
        )
    k = int(rising[np.argmin(np.abs(grid[rising] - centre))])
    rest = float(brentq(gradient, grid[k], grid[k + 1]))
    step = 1e-4
    stiffness = (gradient(rest + step) - gradient(rest - step)) / (2.0 * step)
    return stiffness / float(machine.terms(np.array([rest]), 0.0, g).inertia[0]), rest

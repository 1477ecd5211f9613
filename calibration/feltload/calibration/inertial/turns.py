"""Turns of an inertial sensor from one still attitude to the next, found in a recording."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import ArrayLike

from feltload.calibration.errors import AttitudesError
from feltload.calibration.inertial.attitudes import StillAttitude
from feltload.core import Floats

LEAST_TURN_RAD: Final = np.radians(10.0)
"""Smaller ones are a nudge and tell next to nothing."""
_GAP_PERIODS: Final = 2.5
_ONE_AXIS: Final = 0.98


@dataclass(frozen=True)
class KnownTurn:
    """A turn about one axis through a known angle, between two still moments.

    Parameters
    ----------
    start_s, end_s : float
        Times within the stillness before and after.
    angle_rad, u_angle_rad : float
        Size of the turn and its standard uncertainty.
    """

    start_s: float
    end_s: float
    angle_rad: float
    u_angle_rad: float


@dataclass(frozen=True, eq=False)
class Turn:
    """Samples of the motion between two still attitudes.

    Parameters
    ----------
    before, after : StillAttitude or None
        The rests that it joins; None where a stated turn begins or ends in none that was found.
    time_s : float array, shape (n,)
    rate_rad_s : float array, shape (n, 3)
        Raw rate less the bias at rest.
    stated : KnownTurn or None
        What a person said of its angle.
    has_gap : bool
        Samples are missing within it, so it cannot be integrated.
    """

    before: StillAttitude | None
    after: StillAttitude | None
    time_s: Floats
    rate_rad_s: Floats
    stated: KnownTurn | None
    has_gap: bool

    @property
    def duration_s(self) -> float:
        """Time from rest to rest."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def path_rad(self) -> float:
        """Angle swept, there and back counted twice."""
        return float(scipy.integrate.trapezoid(np.linalg.norm(self.rate_rad_s, axis=1), self.time_s))

    @property
    def swept(self) -> Floats:
        """Integral of the rate per axis, radians."""
        return np.asarray(scipy.integrate.trapezoid(self.rate_rad_s, self.time_s, axis=0))

    @property
    def is_about_one_axis(self) -> bool:
        """Whether the axis stayed where it was in the sensor."""
        return bool(np.linalg.norm(self.swept) >= _ONE_AXIS * self.path_rad)


def orientation(time_s: Floats, rate_rad_s: Floats) -> Floats:
    """Attitude along a motion, as matrices from the sensor's frame then to its frame at the start.

    Parameters
    ----------
    time_s : float array, shape (n,)
    rate_rad_s : float array, shape (n, 3)
        In the sensor's own, turning frame.

    Returns
    -------
    float array, shape (n, 3, 3)

    Notes
    -----
    Per interval the rotation vector to fourth order, coning included: the trapezoid with its end correction, and the
    first term of the Magnus series, ``h (w0 + w1) / 2 - h^2 (w1' - w0') / 12 + h^2 (w0 x w1) / 12``. Source:
    A. Iserles, H. Munthe-Kaas, S. Norsett, A. Zanna, "Lie-group methods", Acta Numerica 9 (2000) 215-365.
    """
    h = np.diff(time_s)[:, None]
    w0, w1 = rate_rad_s[:-1], rate_rad_s[1:]
    bend = np.diff(np.gradient(rate_rad_s, time_s, axis=0), axis=0)
    vectors = 0.5 * h * (w0 + w1) + h**2 / 12.0 * (np.cross(w0, w1) - bend)
    steps = scipy.spatial.transform.Rotation.from_rotvec(vectors).as_matrix()
    out = np.empty((time_s.size, 3, 3))
    out[0] = np.eye(3)
    for k, step in enumerate(steps):
        out[k + 1] = out[k] @ step
    return out


def find_turns(
    time_s: ArrayLike,
    rate_rad_s: ArrayLike,
    still: Sequence[StillAttitude],
    stated: Sequence[KnownTurn] = (),
) -> list[Turn]:
    """Every turn between two rests that follow each other, with what was stated of it.

    Parameters
    ----------
    time_s : array_like (n,)
    rate_rad_s : array_like (n, 3)
        Raw rate less the bias at rest.
    still : sequence of StillAttitude
        In order of time.
    stated : sequence of KnownTurn
        They take the place of what is found at their times.

    Raises
    ------
    AttitudesError
        A stated turn has no samples.
    """
    time, rate = np.asarray(time_s, dtype=float), np.asarray(rate_rad_s, dtype=float)
    turns = []
    for known in stated:
        inside = (time >= known.start_s) & (time <= known.end_s)
        if inside.sum() < 3:
            raise AttitudesError(
                f"no samples between {known.start_s:g} s and {known.end_s:g} s",
                remedy="correct the times of the turn",
            )
        before, after = (
            next((item for item in still if item.start_s <= at <= item.end_s), None)
            for at in (known.start_s, known.end_s)
        )
        turns.append(_turn(time, rate, known.start_s, known.end_s, before, after, known))
    for before, after in itertools.pairwise(still):
        if all(known.end_s <= before.end_s or after.start_s <= known.start_s for known in stated):
            turn = _turn(time, rate, before.end_s, after.start_s, before, after, None)
            if turn.path_rad >= LEAST_TURN_RAD:
                turns.append(turn)
    return sorted(turns, key=lambda turn: turn.time_s[0])


def _turn(
    time: Floats,
    rate: Floats,
    start_s: float,
    end_s: float,
    before: StillAttitude | None,
    after: StillAttitude | None,
    stated: KnownTurn | None,
) -> Turn:
    inside = (time >= start_s) & (time <= end_s)
    part = time[inside]
    period = float(np.median(np.diff(time)))
    has_gap = bool(part.size < 3 or np.diff(part).max() > _GAP_PERIODS * period)
    return Turn(before, after, part, rate[inside], stated, has_gap)

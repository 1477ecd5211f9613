"""The outline of a cam from its table of moment arms.

The line of the cable touches the cam. Seen from the cam, the line with its normal at the angle psi lies at the distance
H(psi) from the axis: H is the support function of the outline, which is the envelope of these lines,
p = H n + H' n', with the radius of curvature H + H''. The cable winds outside its surface by half its thickness.

Source: support function and envelope of tangents, any text on convex curves (L. A. Santalo, Integral Geometry and
Geometric Probability, ch. I.1, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.calibration.machine.mechanisms.leaving import CableLeaving
from feltload.core import Floats

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

WITHIN_M: Final = 2e-5
"""Farthest that the outline's straight pieces lie from its curve."""
_FEWEST: Final = 181
_MOST: Final = 4001
_TURN: Final = 2.0 * math.pi


@dataclass(frozen=True)
class CamOutline:
    """A cam as the cable winds on it, seen on the start stop; each array (n,) or (n, 2), by falling psi.

    Attributes
    ----------
    q_rad : ndarray
        Rotation from the start stop at which the cable leaves the cam here, ascending.
    arm_m : ndarray
        Moment arm there.
    psi_rad : ndarray
        Angle of the line's normal in the cam.
    centre_m : ndarray
        Where the middle of the cable lies.
    surface_m : ndarray
        Where its inner side lies: the surface to cut, or the ground of a groove.
    radius_m : ndarray
        Radius of curvature of the middle of the cable; negative where the outline is hollow.
    ahead_m : ndarray
        From the foot of the normal along the cable to where it leaves.
    closing_m : ndarray
        The rest of the surface, from the last point back to the first; free to choose, but nothing may stand out.
    """

    q_rad: Floats
    arm_m: Floats
    psi_rad: Floats
    centre_m: Floats
    surface_m: Floats
    radius_m: Floats
    ahead_m: Floats
    closing_m: Floats

    @property
    def turn_rad(self) -> float:
        """How far round the cam the cable lies."""
        return float(self.psi_rad[0] - self.psi_rad[-1])

    @property
    def closed_m(self) -> Floats:
        """The whole surface as a closed polygon, first point not repeated, counter-clockwise."""
        return np.concatenate((self.surface_m, self.closing_m))[::-1]


def cam_outline(turns_rad: Floats, arms_m: Floats, leaving: CableLeaving) -> CamOutline:
    """The outline that has these moment arms.

    Parameters
    ----------
    turns_rad, arms_m : ndarray, shape (k,)
        The table; between its rows the outline follows a cubic spline, which has the curvature that a cut surface has.
    leaving : CableLeaving
        How the cable leaves.

    Returns
    -------
    CamOutline
        Points no farther than `WITHIN_M` from the curve; NaN where the guide pulley is out of reach.
    """
    # Slow to import, and only cams need it.
    from scipy.interpolate import CubicSpline

    arm = CubicSpline(turns_rad, arms_m)
    found = _envelope(np.linspace(turns_rad[0], turns_rad[-1], _FEWEST), arm, leaving)
    # A piece of a circle of radius R that turns by t bulges by R t^2 / 8.
    widest = float(np.nanmax(np.abs(found[4]), initial=0.05))
    pieces = abs(found[1][-1] - found[1][0]) / math.sqrt(8.0 * WITHIN_M / widest)
    count = int(np.clip(np.nan_to_num(pieces, nan=1.0), _FEWEST, _MOST))
    q = np.unique(np.concatenate((np.linspace(turns_rad[0], turns_rad[-1], count), turns_rad)))
    arms, psi, support, slope, radius = _envelope(q, arm, leaving)
    normal = np.column_stack((np.cos(psi), np.sin(psi)))
    across = np.column_stack((-normal[:, 1], normal[:, 0]))
    centre = support[:, None] * normal + slope[:, None] * across
    surface = centre - 0.5 * (leaving.diameter or 0.0) * normal
    half = 0.5 * (leaving.diameter or 0.0)
    closing = _closing(psi, support - half, slope, radius - support, surface)
    return CamOutline(q, arms, psi, centre, surface, radius, -slope, closing)


def _envelope(
    q: Floats, arm: CubicSpline, leaving: CableLeaving
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Moment arm, angle of the normal in the cam, support, its slope, radius of curvature; each (n,)."""
    h, h_1, h_2 = arm(q), arm(q, 1), arm(q, 2)
    angle, by_arm, by_arm_2 = leaving.normal_rad(h)
    psi_1 = by_arm * h_1 - 1.0
    psi_2 = by_arm_2 * h_1**2 + by_arm * h_2
    # A line that stands still in the cam has no envelope; what is left is reported.
    psi_1 = np.where(psi_1 < 0.0, psi_1, np.nan)
    slope = h_1 / psi_1
    bend = (h_2 - slope * psi_2) / psi_1**2
    return h, angle - q, h, slope, h + bend


def _closing(psi: Floats, support: Floats, slope: Floats, bend: Floats, surface: Floats) -> Floats:
    """The rest of the surface: smooth where that stays convex, a straight chord otherwise; without the two ends."""
    from scipy.interpolate import BPoly

    left = _TURN - (psi[0] - psi[-1])
    if not math.isfinite(left) or left < math.radians(5.0):
        return np.empty((0, 2))
    ends = [[support[-1], slope[-1], bend[-1]], [support[0], slope[0], bend[0]]]
    # Psi falls along the surface, and goes on falling to one turn before its beginning.
    rest = BPoly.from_derivatives([0.0, left], [[s, -f, b] for s, f, b in ends])
    along = np.linspace(0.0, left, _FEWEST)
    curved = rest(along) + rest(along, 2)
    if float(curved.min()) <= 0.0:
        return np.empty((0, 2))
    angle = psi[-1] - along[1:-1]
    normal = np.column_stack((np.cos(angle), np.sin(angle)))
    across = np.column_stack((-normal[:, 1], normal[:, 0]))
    return np.asarray(rest(along[1:-1])[:, None] * normal - rest(along[1:-1], 1)[:, None] * across)

"""Places to which the arm comes back: the stop on which it rests, and the ends of its travel.

Where gravity says nothing of the angle, they hold it: every rest on the stop is the same angle, and a machine or a
person turns back near the same two angles again and again.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from feltload.core import Flags, Floats, runs_of_true
from feltload.signal.hinge.data import HingeData
from feltload.signal.hinge.smoother.knots import Knots, Shares
from feltload.signal.hinge.smoother.model import GLOBALS, LEVELS, SCALE

#: How well a stop holds an arm that rests on it: buffers give way, a hand still pulls a little.
STOP_U_RAD = np.radians(0.2)
#: Rests within this part of the travel (and angle) of the first one are on the stop.
STOP_SHARE, STOP_RAD = 0.1, np.radians(6.0)
#: An end of the travel is known no better than this, and turning back counts from this part of the travel on.
END_U_RAD = np.radians(0.1)
TURN_SHARE = 0.3
FEWEST_ENDS = 3
#: An end that scatters by more than this part of the travel holds nothing.
LARGEST_SCATTER = 0.25
#: Degrees of freedom of the t distribution of what is left: a rest beside the stop keeps little weight.
TAIL = 2.0


@dataclass(frozen=True)
class Places:
    """Times at which the arm is at one of three angles that are themselves unknown.

    Attributes
    ----------
    time_s : ndarray, shape (p,)
        Rising.
    turned : ndarray, shape (p,)
        Integrated reading at these times, rad.
    level : ndarray of int, shape (p,)
        Which of the three: 0 the stop, 1 and 2 the low and the high end of the travel.
    u_rad : ndarray, shape (p,)
    trend_u_rad : float
        How far the ends may have moved together from the record's first to its last second: nothing shows it.
    """

    time_s: Floats
    turned: Floats
    level: NDArray[np.intp]
    u_rad: Floats
    trend_u_rad: float = 0.0

    def shares(self, knots: Knots) -> Shares:
        """How the places lean on the knots."""
        return knots.shares(self.time_s)

    def errors(self, drift: Floats, unknown: Floats) -> Floats:
        """Level less angle at each place, (p,), from the drift at the places."""
        return np.asarray(unknown[LEVELS][self.level] - (1.0 + unknown[SCALE]) * self.turned - drift)

    def weight(self, errors: Floats) -> Floats:
        """Robust information of each place, (p,)."""
        return np.asarray((TAIL + 1.0) / (TAIL + (errors / self.u_rad) ** 2) / self.u_rad**2)

    def cost(self, errors: Floats) -> float:
        return float(np.sum((TAIL + 1.0) * np.log1p((errors / self.u_rad) ** 2 / TAIL)))

    @cached_property
    def by_unknown(self) -> Floats:
        """Derivative of the angle less the level to the global unknowns, (p, 22)."""
        out = np.zeros((len(self.time_s), GLOBALS))
        out[:, SCALE] = self.turned
        out[np.arange(len(out)), LEVELS.start + self.level] = -1.0
        return out


def rests_on_the_stop(data: HingeData, still: Flags, sample_time_s: Floats, theta: Floats) -> Places | None:
    """Rests that lie where the first one lies, from an angle (n,) known to a few degrees."""
    rests = runs_of_true(still)
    if len(rests) < 2:
        return None
    angle = np.array([np.mean(theta[a:b]) for a, b in rests])
    reach = min(STOP_SHARE * float(np.ptp(theta)), STOP_RAD)
    near = np.abs(angle - angle[0]) < reach
    if np.count_nonzero(near) < 2:
        return None
    chosen = [rest for rest, on in zip(rests, near, strict=True) if on]
    return Places(
        np.array([np.mean(sample_time_s[a:b]) for a, b in chosen]),
        np.array([np.mean(data.sample_turned[a:b]) for a, b in chosen]),
        np.zeros(len(chosen), dtype=np.intp),
        np.full(len(chosen), STOP_U_RAD),
    )


def ends_of_travel(time_s: Floats, turned: Floats, theta: Floats) -> Places | None:
    """Where the arm turns back, from times, readings and an angle (m,) whose drift is small against the travel."""
    low, high = np.quantile(theta, (0.02, 0.98))
    back = _turning_points(theta, TURN_SHARE * float(high - low))
    if len(back) < 2 * FEWEST_ENDS:
        return None
    at, upper = back[:, 0], back[:, 1] > 0
    level, u_rad = np.where(upper, 2, 1), np.empty(len(at))
    scatter = 0.0
    for which in (1, 2):
        own = level == which
        # A steady drift takes no part in second differences, which scatter by the root of six; ends that alternate do.
        bends = np.diff(theta[at[own]], 2)
        if not len(bends):
            return None
        size = 1.4826 * float(np.median(np.abs(bends))) / np.sqrt(6.0)
        u_rad[own] = max(size, END_U_RAD)
        scatter = max(scatter, size)
    if scatter > LARGEST_SCATTER * float(high - low):
        return None
    return Places(time_s[at], turned[at], level, u_rad, float(np.min(u_rad)))


def _turning_points(theta: Floats, hysteresis: float) -> NDArray[np.intp]:
    """Index and side (+1 high, -1 low) of each turning point, the outermost ones of the record left out."""
    out: list[tuple[int, int]] = []
    way, best = 0, 0
    # Only places where the direction changes can be turning points: few remain.
    step = np.sign(np.diff(theta))
    for index in np.flatnonzero(step[1:] * step[:-1] <= 0.0) + 1:
        value = theta[index]
        if (way >= 0 and value > theta[best]) or (way <= 0 and value < theta[best]):
            if way == 0 and abs(value - theta[best]) < hysteresis:
                continue
            way = way or (1 if value > theta[best] else -1)
            best = int(index)
        elif way and way * (theta[best] - value) > hysteresis:
            out.append((best, way))
            way, best = -way, int(index)
    return np.array(out[1:] if len(out) > 1 else out, dtype=np.intp).reshape(-1, 2)


def joined(*parts: Places | None) -> Places | None:
    """All places of several kinds in the order of time."""
    some = [part for part in parts if part is not None]
    if not some:
        return None
    order = np.argsort(np.concatenate([part.time_s for part in some]), kind="stable")
    time_s, turned, u_rad = (
        np.concatenate([getattr(part, name) for part in some])[order]
        for name in ("time_s", "turned", "u_rad")
    )
    level = np.concatenate([part.level for part in some])[order]
    return Places(time_s, turned, level, u_rad, max(part.trend_u_rad for part in some))

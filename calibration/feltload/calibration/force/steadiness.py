"""Whether the readings under a hung weight have come to rest, and if not, what still moves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

Motion = Literal["waiting", "drifting", "unstable", "stable"]

# A weight on a strap of a metre swings once in two seconds: the window holds two pulls of its force or more.
WINDOW_S: Final = 3.0
_FEWEST: Final = 8
# Spread about the line, in multiples of the reading's own noise from one sample to the next.
_SPREAD_MULTIPLE: Final = 3.0
_DRIFT_SIGMAS: Final = 3.0


@dataclass(frozen=True)
class Steadiness:
    """State of the latest readings.

    Attributes
    ----------
    state : {"waiting", "drifting", "unstable", "stable"}
        Not enough readings yet; moving one way; swinging, jumping or noisy; at rest.
    mean : float
        Mean of the window; NaN while waiting.
    spread : float
        Standard deviation about the window's line.
    change : float
        Change of that line over the window.
    samples : int
        Readings in the window.
    """

    state: Motion
    mean: float = float("nan")
    spread: float = float("nan")
    change: float = float("nan")
    samples: int = 0


def judge(
    time_s: ArrayLike, reading: ArrayLike, *, tolerance: float, window_s: float = WINDOW_S
) -> Steadiness:
    """Judge the last `window_s` of readings.

    Parameters
    ----------
    time_s, reading : array_like (n,)
        Readings since the weight was hung, in order.
    tolerance : float
        What is negligible, in units of the reading: drift over the window and a slow swing may be this large.
    window_s : float
        Length of the window.

    Returns
    -------
    Steadiness
        Stable when the spread is no larger than the tolerance and the readings' own noise explain, and the
        line changes by no more than the tolerance, the spread, and what the noise leaves uncertain.
    """
    time, values = np.asarray(time_s, dtype=float), np.asarray(reading, dtype=float)
    if len(time) == 0 or time[-1] - time[0] < window_s:
        return Steadiness("waiting")
    inside = time > time[-1] - window_s
    t, y = time[inside], values[inside]
    n = len(y)
    if n < _FEWEST:
        return Steadiness("waiting")
    centred = t - t.mean()
    squares = float(centred @ centred)
    slope = float(centred @ (y - y.mean())) / squares
    residual = y - y.mean() - slope * centred
    spread = float(np.sqrt(residual @ residual / (n - 2)))
    # Differences of neighbours see noise and hardly any swing; a third of the tolerance keeps converters
    # that filter their output, whose neighbours are alike, from never being still. The median, so that one
    # sample still on its way from the weight before does not pass for noise and let itself in.
    own = 1.4826 * float(np.median(np.abs(np.diff(y)))) / 2**0.5
    noise = max(own, tolerance / _SPREAD_MULTIPLE)
    change = slope * window_s
    u_change = window_s * spread / squares**0.5
    if spread > _SPREAD_MULTIPLE * noise:
        # A decaying approach bends away from its line; what moves one way only is a drift all the same.
        thirds = [float(part.mean()) for part in np.array_split(y, 3)]
        one_way = thirds[0] < thirds[1] < thirds[2] or thirds[0] > thirds[1] > thirds[2]
        state: Motion = "drifting" if one_way and abs(change) > 2 * spread else "unstable"
    elif abs(change) > max(tolerance, spread, _DRIFT_SIGMAS * u_change):
        state = "drifting"
    else:
        state = "stable"
    return Steadiness(state, float(y.mean()), spread, change, n)

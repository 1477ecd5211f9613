"""Samples along a movement, smoothed onto even angles."""

from __future__ import annotations

import numpy as np

from feltload.core import Floats


def smooth_at_angles(angle: Floats, value: Floats, grid: Floats) -> Floats:
    """Samples smoothed onto grid angles: a straight line through each neighbourhood, near ones counting more.

    The neighbourhood reaches one and a half steps of the grid, or two samples where the movement was fast.

    Parameters
    ----------
    angle, value : ndarray, shape (k,)
    grid : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
        NaN beyond the first and last sample, and across holes.
    """
    if angle.size < 3:
        return np.full(grid.size, np.nan)
    step = float(np.median(np.diff(grid)))
    spacing = float(np.quantile(np.diff(np.sort(angle)), 0.9))
    reach = max(1.5 * step, 2.0 * spacing)
    distance = angle[None, :] - grid[:, None]
    weight = np.clip(1.0 - np.abs(distance) / reach, 0.0, None)
    total = weight.sum(axis=1)
    inside = (grid >= angle.min()) & (grid <= angle.max()) & (total > 0)
    safe = np.where(total > 0, total, 1.0)
    centre = (weight * distance).sum(axis=1) / safe
    level = (weight @ value) / safe
    apart = distance - centre[:, None]
    square = (weight * apart**2).sum(axis=1)
    slope = (weight * apart * (value[None, :] - level[:, None])).sum(axis=1)
    # One sample alone, or several at one angle, have no slope.
    steep = np.where(square > 1e-3 * safe * reach**2, slope / np.maximum(square, 1e-300), 0.0)
    return np.asarray(np.where(inside, level - steep * centre, np.nan))

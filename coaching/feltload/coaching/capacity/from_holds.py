"""Capacity from isometric holds: the best try at each position, a smooth curve between, nothing outside."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feltload.coaching.capacity.curve import CapacityCurve, CapacitySource
from feltload.coaching.capacity.facts import CapacityFact
from feltload.coaching.capacity.holds import Hold
from feltload.coaching.capacity.overlap import even_grid
from feltload.coaching.capacity.smoothing import smooth_curve
from feltload.coaching.errors import CapacityError
from feltload.coaching.pain.marks import inside_any
from feltload.core import Fact, Floats, Severity

# Spread of repeated maximal holds of one person within a session, as a fraction of the force, used
# until a session carries tries enough to tell its own. Common practice, no source.
DEFAULT_TRY_SPREAD = 0.05
SAME_POSITION_RAD = np.deg2rad(3.0)
FEWEST_POSITIONS = 3
TIRED_SHARE = 0.95
"""Later tries below this part of the first, on the mean, are those of a tired person (our own convention)."""


def capacity_from_holds(
    holds: Sequence[Hold],
    *,
    u_scale: float = 0.005,
    side: str | None = None,
    painful: Sequence[tuple[float, float]] = (),
    warnings: Sequence[Fact] = (),
) -> CapacityCurve:
    """Smooth capacity curve with band from isometric holds.

    The best try at each position counts; tries elsewhere in the session tell how much they spread.

    Parameters
    ----------
    holds : sequence of Hold
        At three positions or more.
    u_scale : float
        Relative standard uncertainty of the force calibration.
    side : {"left", "right"}, optional
        Side measured.
    painful : sequence of (low_rad, high_rad)
        Ranges marked painful, kept with the curve. Holds there are left out of it; a second curve through all holds
        keeps the marks from raising it anywhere.
    warnings : sequence of Fact
        Carried along.

    Raises
    ------
    CapacityError
        If fewer than three positions remain: says what can and cannot be said.
    """
    usable = [hold for hold in holds if not inside_any(np.array([hold.angle_rad]), painful).any()]
    facts = list(warnings)
    if len(usable) < len(holds):
        facts.append(Fact(CapacityFact.PAINFUL_HOLDS_UNUSED, figures={"count": len(holds) - len(usable)}))
    curve = _curve_through(usable, u_scale, side, facts)
    if len(usable) < len(holds):
        every = _curve_through(holds, u_scale, side, [])
        lowest = _lowest_n(every, holds, usable, u_scale)
        # Fewer holds may bend the curve upwards: a painful range is no reason to think more of the rest.
        ceiling = np.interp(curve.angle_rad, every.angle_rad, lowest)
        curve = replace(curve, force_n=np.minimum(curve.force_n, ceiling), all_holds=every, lowest_n=lowest)
    return replace(curve, holds=tuple(holds)).marked(painful)


def _lowest_n(every: CapacityCurve, holds: Sequence[Hold], usable: Sequence[Hold], u_scale: float) -> Floats:
    """The lowest of the curves with all, some or none of the painful holds, on the angles of the first.

    Every smaller mark left out some of these holds: a larger one cannot raise what the smaller one gave.
    """
    sore = _by_position([hold for hold in holds if hold not in usable])
    lowest, step = every.force_n, float(every.angle_rad[1] - every.angle_rad[0])
    for count in range(1, len(sore) + 1):
        for left_out in itertools.combinations(sore, count):
            out = [hold for tries in left_out for hold in tries]
            curve = _curve_through([hold for hold in holds if hold not in out], u_scale, None, [])
            low, high = curve.angle_rad[[0, -1]]
            # Its very ends lie between two angles of the other grid.
            covered = (every.angle_rad > low - step) & (every.angle_rad < high + step)
            there = np.interp(every.angle_rad, curve.angle_rad, curve.force_n)
            lowest = np.where(covered, np.minimum(lowest, there), lowest)
    return lowest


def _curve_through(
    holds: Sequence[Hold], u_scale: float, side: str | None, facts: list[Fact]
) -> CapacityCurve:
    positions = _by_position(holds)
    if len(positions) < FEWEST_POSITIONS:
        known = (
            ", ".join(
                f"{max(hold.force_n for hold in tries):.0f} N at {_mean_degrees(tries):.0f}°"
                for tries in positions
            )
            or "nothing"
        )
        raise CapacityError(
            f"holds at {len(positions)} position{'' if len(positions) == 1 else 's'} only ({known}): the force "
            "between them, the class of the "
            "curve and the limiting position cannot be determined",
            remedy=f"hold at {FEWEST_POSITIONS} positions or more, spread over the travel",
        )
    spread = _spread_of_tries(positions)
    if spread is None:
        spread = DEFAULT_TRY_SPREAD
        facts.append(Fact(CapacityFact.SPREAD_OF_TRIES_ASSUMED, Severity.NOTE, figures={"spread": spread}))
    if _grows_tired(positions):
        facts.append(Fact(CapacityFact.LATER_TRIES_WEAKER))
    best = [max(tries, key=lambda hold: hold.force_n) for tries in positions]
    angle = np.array([hold.angle_rad for hold in best])
    strength = np.array([hold.force_n for hold in best])
    count = np.array([len(tries) for tries in positions])
    u = np.hypot(np.array([hold.u_n for hold in best]), spread * strength / np.sqrt(count))
    grid = even_grid(angle[0], angle[-1])
    force, covariance = smooth_curve(angle, strength, u, grid)
    covariance = covariance + u_scale**2 * np.outer(force, force)
    return CapacityCurve(grid, force, covariance, CapacitySource.HOLDS, (), side, tuple(facts))


def _by_position(holds: Sequence[Hold]) -> list[list[Hold]]:
    positions: list[list[Hold]] = []
    for hold in sorted(holds, key=lambda hold: hold.angle_rad):
        if positions and hold.angle_rad - positions[-1][0].angle_rad <= SAME_POSITION_RAD:
            positions[-1].append(hold)
        else:
            positions.append([hold])
    return positions


def _mean_degrees(tries: Sequence[Hold]) -> float:
    return float(np.rad2deg(np.mean([hold.angle_rad for hold in tries])))


def _spread_of_tries(positions: Sequence[Sequence[Hold]]) -> float | None:
    """Pooled relative standard deviation between tries; None where the session cannot tell it."""
    groups = [np.array([hold.force_n for hold in tries]) for tries in positions if len(tries) > 1]
    freedom = sum(len(group) - 1 for group in groups)
    if freedom < 2:
        return None
    squares = sum(float(((group / group.mean() - 1.0) ** 2).sum()) for group in groups)
    return float(np.sqrt(squares / freedom))


def _grows_tired(positions: Sequence[Sequence[Hold]]) -> bool:
    ratios = []
    for tries in positions:
        in_order = sorted(tries, key=lambda hold: hold.order)
        ratios += [later.force_n / earlier.force_n for earlier, later in itertools.pairwise(in_order)]
    return len(ratios) >= 2 and float(np.mean(ratios)) < TIRED_SHARE

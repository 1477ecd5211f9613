"""What one person can produce at the handle, by position.

Two ways to measure it, both with the cell that measures the machine: steady isometric holds at several
positions (`holds.find_holds`, `capacity_from_holds`), or the envelope of maximal slow repetitions
(`capacity_from_repetitions`). A curve from elsewhere is read with `capacity_from_table`.
"""

from __future__ import annotations

import csv
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt

from feltload.coaching.capacity.holds import Hold
from feltload.coaching.capacity.smoothing import smooth_curve
from feltload.coaching.errors import CapacityError
from feltload.core import Floats

# Spread of repeated maximal holds of one person within a session, as a fraction of the force, used
# until a session carries tries enough to tell its own. Common practice, no source.
DEFAULT_TRY_SPREAD = 0.05
SAME_POSITION_RAD = np.deg2rad(3.0)
FEWEST_POSITIONS = 3
GRID_STEP_RAD = np.deg2rad(1.0)


@dataclass(frozen=True)
class CapacityCurve:
    """Handle force that a person can produce, by lever angle.

    Attributes
    ----------
    angle_rad, force_n : ndarray, shape (n,)
        The curve, only as far as it was measured.
    covariance_n2 : ndarray, shape (n, n)
        Covariance of `force_n`.
    source : {"holds", "slow repetitions", "table"}
        How it was measured.
    holds : tuple of Hold
        The holds it rests on, if any.
    side : {"left", "right"} or None
        The side measured.
    warnings : tuple of str
        What a reader should know.
    invented : bool
        Whether nobody was measured: an emulated person.
    """

    angle_rad: Floats
    force_n: Floats
    covariance_n2: Floats
    source: Literal["holds", "slow repetitions", "table"]
    holds: tuple[Hold, ...] = ()
    side: str | None = None
    warnings: tuple[str, ...] = ()
    invented: bool = False

    @property
    def u_n(self) -> Floats:
        """Standard uncertainty of `force_n`, shape (n,)."""
        return np.sqrt(np.clip(np.diag(self.covariance_n2), 0.0, None))

    def at(self, angle_rad: npt.ArrayLike) -> tuple[Floats, Floats]:
        """Force and its covariance at other angles; NaN outside what was measured.

        Parameters
        ----------
        angle_rad : array_like, shape (k,)
            Lever angles.

        Returns
        -------
        force_n : ndarray, shape (k,)
        covariance_n2 : ndarray, shape (k, k)
        """
        angle = np.atleast_1d(np.asarray(angle_rad, dtype=float))
        weights = interpolation_weights(self.angle_rad, angle)
        return weights @ self.force_n, weights @ self.covariance_n2 @ weights.T

    def scaled(self, fraction: float) -> CapacityCurve:
        """The same curve at a fraction of the force."""
        return replace(self, force_n=self.force_n * fraction, covariance_n2=self.covariance_n2 * fraction**2)


def interpolation_weights(knots: Floats, at: Floats) -> Floats:
    """Matrix of linear interpolation from `knots` (n,) to `at` (k,), NaN rows outside; shape (k, n)."""
    index = np.clip(np.searchsorted(knots, at, side="right") - 1, 0, len(knots) - 2)
    part = (at - knots[index]) / (knots[index + 1] - knots[index])
    weights = np.zeros((len(at), len(knots)))
    rows = np.arange(len(at))
    weights[rows, index] = 1.0 - part
    weights[rows, index + 1] = part
    # Half a step of rounding at the ends is still inside.
    slack = 1e-6 * (knots[-1] - knots[0])
    weights[(at < knots[0] - slack) | (at > knots[-1] + slack)] = np.nan
    return weights


def capacity_from_holds(
    holds: Sequence[Hold],
    *,
    u_scale: float = 0.005,
    side: str | None = None,
    painful: Sequence[tuple[float, float]] = (),
    warnings: Sequence[str] = (),
) -> CapacityCurve:
    """Smooth capacity curve with band from isometric holds.

    The best try at each position counts; tries elsewhere in the session tell how much they spread.

    Parameters
    ----------
    holds : sequence of Hold
        At three positions or more.
    u_scale : float
        Relative standard uncertainty of the force calibration.
    side : str, optional
        Side measured.
    painful : sequence of (low_rad, high_rad)
        Positions marked painful: holds there are never used, and never asked for.
    warnings : sequence of str
        Carried along.

    Raises
    ------
    CapacityError
        If fewer than three positions remain: says what can and cannot be said.
    """
    notes = list(warnings)
    usable = [h for h in holds if not any(lo <= h.angle_rad <= hi for lo, hi in painful)]
    if len(usable) < len(holds):
        notes.append(f"{len(holds) - len(usable)} hold(s) at positions marked painful were not used")
    positions = _by_position(usable)
    if len(positions) < FEWEST_POSITIONS:
        known = (
            ", ".join(f"{max(h.force_n for h in p):.0f} N at {_degrees(p):.0f}°" for p in positions)
            or "nothing"
        )
        raise CapacityError(
            f"holds at {len(positions)} position(s) only ({known}): the force between them, the class of the "
            "curve and the limiting position cannot be told",
            remedy=f"hold at {FEWEST_POSITIONS} positions or more, spread over the travel",
        )
    spread, from_tries = _try_spread(positions)
    if not from_tries:
        notes.append(
            f"one try at each position: a spread of {100 * DEFAULT_TRY_SPREAD:.0f} % between tries is assumed"
        )
    best = [max(p, key=lambda h: h.force_n) for p in positions]
    if _grows_tired(positions):
        notes.append(
            "later tries are weaker than earlier ones at the same position: rest longer between holds"
        )
    x = np.array([h.angle_rad for h in best])
    y = np.array([h.force_n for h in best])
    tries = np.array([len(p) for p in positions])
    u = np.hypot(np.array([h.u_n for h in best]), spread * y / np.sqrt(tries))
    grid = _grid(x[0], x[-1])
    force, covariance = smooth_curve(x, y, u, grid)
    covariance = covariance + u_scale**2 * np.outer(force, force)
    return CapacityCurve(grid, force, covariance, "holds", tuple(holds), side, tuple(notes))


def _by_position(holds: Sequence[Hold]) -> list[list[Hold]]:
    positions: list[list[Hold]] = []
    for hold in sorted(holds, key=lambda h: h.angle_rad):
        if positions and hold.angle_rad - positions[-1][0].angle_rad <= SAME_POSITION_RAD:
            positions[-1].append(hold)
        else:
            positions.append([hold])
    return positions


def _degrees(position: Sequence[Hold]) -> float:
    return float(np.rad2deg(np.mean([h.angle_rad for h in position])))


def _try_spread(positions: Sequence[Sequence[Hold]]) -> tuple[float, bool]:
    """Pooled relative standard deviation between tries, and whether the session tells it."""
    groups = [np.array([h.force_n for h in p]) for p in positions if len(p) > 1]
    freedom = sum(len(g) - 1 for g in groups)
    if freedom < 2:
        return DEFAULT_TRY_SPREAD, False
    squares = sum(float(((g / g.mean() - 1.0) ** 2).sum()) for g in groups)
    return float(np.sqrt(squares / freedom)), True


def _grows_tired(positions: Sequence[Sequence[Hold]]) -> bool:
    changes = []
    for position in positions:
        ordered = sorted(position, key=lambda h: h.order)
        changes += [later.force_n / first.force_n for first, later in itertools.pairwise(ordered)]
    return len(changes) >= 2 and float(np.mean(changes)) < 0.95


def _grid(low: float, high: float) -> Floats:
    return np.linspace(low, high, max(3, round((high - low) / GRID_STEP_RAD) + 1))


def capacity_from_repetitions(
    angle_rad: Sequence[Floats],
    force_n: Sequence[Floats],
    *,
    u_scale: float = 0.005,
    side: str | None = None,
) -> CapacityCurve:
    """Capacity as the envelope of maximal slow repetitions.

    Parameters
    ----------
    angle_rad, force_n : sequence of ndarray, one pair a repetition
        Concentric part of each maximal slow repetition, force low-passed.
    u_scale : float
        Relative standard uncertainty of the force calibration.

    Raises
    ------
    CapacityError
        With fewer than two repetitions, or repetitions that share no part of the travel.
    """
    if len(angle_rad) < 2:
        raise CapacityError(
            "one repetition shows no spread",
            remedy="record two maximal slow repetitions or more, with rest between",
        )
    low = max(float(a.min()) for a in angle_rad)
    high = min(float(a.max()) for a in angle_rad)
    if high - low < np.deg2rad(5.0):
        raise CapacityError(
            "the repetitions share less than 5° of travel", remedy="repeat them through the same range"
        )
    grid = _grid(low, high)
    each = np.stack([_by_angle(a, f, grid) for a, f in zip(angle_rad, force_n, strict=True)])
    envelope = each.max(axis=0)
    # Repetitions of one person go up and down together, so their spread is taken as fully correlated.
    spread = each.std(axis=0, ddof=1) / np.sqrt(len(each))
    covariance = np.outer(spread, spread) + u_scale**2 * np.outer(envelope, envelope)
    return CapacityCurve(grid, envelope, covariance, "slow repetitions", (), side)


def _by_angle(angle: Floats, force: Floats, grid: Floats) -> Floats:
    order = np.argsort(angle)
    return np.interp(grid, angle[order], force[order])


def capacity_from_table(path: Path) -> CapacityCurve:
    """Read a capacity curve from a CSV: ``angle_deg, force_n`` and optionally ``u_n``.

    Raises
    ------
    CapacityError
        Naming file, row and column of what cannot be read.
    """
    where = str(path)
    if not path.is_file():
        raise CapacityError(
            "no such file", where=where, remedy="give a CSV with columns angle_deg, force_n, u_n"
        )
    with path.open(encoding="utf-8", newline="") as lines:
        reader = csv.DictReader(lines)
        for name in ("angle_deg", "force_n"):
            if name not in (reader.fieldnames or ()):
                raise CapacityError(
                    f"column {name} is missing", where=where, remedy="head it angle_deg,force_n,u_n"
                )
        rows = list(reader)
    values = []
    for number, row in enumerate(rows, start=2):
        try:
            force = float(row["force_n"])
            values.append((np.deg2rad(float(row["angle_deg"])), force, float(row.get("u_n") or 0.05 * force)))
        except ValueError:
            raise CapacityError(
                f"row {number} holds something that is not a number", where=where, remedy="use plain decimals"
            ) from None
    if len(values) < FEWEST_POSITIONS:
        raise CapacityError(
            "fewer than three rows", where=where, remedy="give the curve at three angles or more"
        )
    angle, force_at, u = np.array(sorted(values)).T
    if np.any(np.diff(angle) <= 0):
        raise CapacityError("an angle stands twice", where=where, remedy="give each angle once")
    if np.any(force_at <= 0):
        raise CapacityError(
            "a force is zero or below", where=where, remedy="capacity is a positive handle force"
        )
    return CapacityCurve(angle, force_at, np.diag(u**2), "table")

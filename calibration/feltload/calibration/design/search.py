"""The dimensions that come nearest to the targets: many starts, least squares, then the smallest largest distance.

Least squares finds the valley; what is asked is that no position misses by more than its tolerance, so sequential
quadratic programming (SLSQP, Kraft 1988) then makes the largest distance smallest. Where all may move, differential
evolution (Storn & Price 1997) looks for other valleys first. A linkage that cannot close is no step, whichever way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.design.problem import Problem
from feltload.core import Floats

_STAY: Final = 1e-3
"""Pull back to today, in tolerances for a whole span of the bounds: of equal designs the nearest is chosen."""
_FAR: Final = 1e6
_TRIED: Final = 10
_BEST: Final = 2
_STEPS: Final = 25


@dataclass(frozen=True)
class Solution:
    """Dimensions found, all free ones as parts of their bounds.

    Attributes
    ----------
    moving : tuple of int
        Which of them were moved.
    parts : ndarray, shape (k,)
    miss : float
        Largest distance from the targets, in tolerances; infinite where no machine was found.
    """

    moving: tuple[int, ...]
    parts: Floats
    miss: float


def search(
    problem: Problem,
    moving: Sequence[int],
    *,
    seed: int,
    everywhere: bool = False,
    near: Floats | None = None,
) -> Solution:
    """Move some dimensions, leave the others as they are.

    Parameters
    ----------
    problem : Problem
    moving : sequence of int
        Indices of the free dimensions that move.
    seed : int
    near : ndarray, shape (k,), optional
        A design to start from as well, such as the best with fewer changes.
    everywhere : bool
        Look for other valleys by differential evolution first.
    """
    which = np.array(moving, dtype=int)
    at = _Subset(problem, which)
    starts = at.starts(seed)
    if everywhere:
        starts = [at.evolve(seed), *starts]
    if near is not None:
        starts.append(np.clip(near[which], 0.0, 1.0))
    found = [at.valley(start) for start in starts if np.isfinite(problem.residuals(at.whole(start))).all()]
    if not found:
        return Solution(tuple(moving), problem.today, np.inf)
    best = min(found, key=lambda part: problem.miss(at.whole(part)))
    return Solution(tuple(moving), at.whole(best), problem.miss(at.whole(best)))


def polish(problem: Problem, solution: Solution) -> Solution:
    """Make the largest distance smallest, from a solution in its valley."""
    if not np.isfinite(solution.miss) or not solution.moving:
        return solution
    count = problem.residuals(solution.parts).size
    parts = squeeze(problem, solution, np.zeros(count), np.ones(count))
    miss = problem.miss(parts)
    return Solution(solution.moving, parts, miss) if miss < solution.miss else solution


def squeeze(problem: Problem, solution: Solution, held: Floats, squeezed: Floats) -> Floats:
    """Make `t` smallest so that every distance is `held` + `squeezed` * `t` at most, from a solution in its valley.

    Parameters
    ----------
    problem : Problem
    solution : Solution
    held, squeezed : ndarray, shape (n,)
        Per residual, in tolerances.

    Returns
    -------
    ndarray, shape (k,)
        The dimensions, as parts of their bounds, that the search ends at; whether they keep to it is for the caller.
    """
    # Slow to import, and only a search needs it.
    from scipy.optimize import Bounds, NonlinearConstraint, minimize

    at = _Subset(problem, np.array(solution.moving, dtype=int), solution.parts)
    first = solution.parts[at.which]
    k = first.size

    def room(x: Floats) -> Floats:
        off = np.nan_to_num(problem.residuals(at.whole(x[:k])), posinf=_FAR, neginf=-_FAR)
        most = held + squeezed * x[k]
        return np.concatenate((most - off, most + off))

    def slopes(x: Floats) -> Floats:
        by = problem.jacobian(at.whole(x[:k]), solution.moving)
        grows = squeezed[:, None]
        return np.concatenate((np.hstack((-by, grows)), np.hstack((by, grows))))

    def largest(x: Floats) -> float:
        return float(x[k])

    def steepest(x: Floats) -> Floats:
        return np.append(np.zeros(k), 1.0)

    off = np.abs(problem.residuals(solution.parts)) - held
    least = float(np.max(off[squeezed > 0.0] / squeezed[squeezed > 0.0], initial=0.0))
    found = minimize(
        largest,
        np.append(first, least),
        jac=steepest,
        constraints=NonlinearConstraint(room, 0.0, np.inf, jac=slopes),
        bounds=Bounds(np.zeros(k + 1), np.append(np.ones(k), np.inf)),
        method="SLSQP",
        tol=1e-7,
        options={"maxiter": _STEPS},
    )
    return at.whole(np.clip(found.x[:k], 0.0, 1.0))


class _Subset:
    """A problem in which only some dimensions move."""

    def __init__(self, problem: Problem, which: Floats, still: Floats | None = None) -> None:
        self.problem = problem
        self.which = which
        self._still = problem.today if still is None else still
        self._home = np.clip(self._still[which], 0.0, 1.0)

    def whole(self, part: Floats) -> Floats:
        """All free dimensions, (..., k), those that do not move where they are."""
        parts = np.broadcast_to(self._still, (*part.shape[:-1], self._still.size)).copy()
        parts[..., self.which] = part
        return parts

    def starts(self, seed: int) -> list[Floats]:
        """Today, and the most promising of dimensions spread evenly over the bounds."""
        # Slow to import, and only a search needs it.
        from scipy.stats import qmc

        k = self.which.size
        spread = qmc.Halton(k, seed=seed).random(_TRIED * k)
        badness = self._squares(spread)
        order = np.argsort(badness, kind="stable")[:_BEST]
        return [self._home, *(spread[i] for i in order if badness[i] < _FAR)]

    def evolve(self, seed: int) -> Floats:
        """The best of differential evolution."""
        from scipy.optimize import Bounds, differential_evolution

        found = differential_evolution(
            self._largest,  # type: ignore[arg-type]  # the stubs know one set of dimensions at a time only
            Bounds(np.zeros(self.which.size), np.ones(self.which.size)),
            popsize=8,
            maxiter=25,
            seed=seed,
            polish=False,
            init="halton",
            vectorized=True,
            updating="deferred",
            x0=self._home,
        )
        return np.asarray(found.x)

    def valley(self, start: Floats) -> Floats:
        """The bottom of the valley of a start, by least squares within the bounds."""
        from scipy.optimize import least_squares

        def residuals(part: Floats) -> Floats:
            return np.concatenate((self.problem.residuals(self.whole(part)), _STAY * (part - self._home)))

        def slopes(part: Floats) -> Floats:
            by = self.problem.jacobian(self.whole(part), list(self.which))
            return np.concatenate((by, _STAY * np.eye(part.size)))

        inside = np.clip(start, 1e-6, 1.0 - 1e-6)
        if not np.isfinite(residuals(inside)).all():
            return start
        return np.asarray(
            least_squares(
                residuals, inside, slopes, bounds=(0.0, 1.0), max_nfev=_STEPS, ftol=1e-5, xtol=1e-6
            ).x
        )

    def _squares(self, spread: Floats) -> Floats:
        """Sum of squares of each start, (m,)."""
        squares = np.sum(np.square(self.problem.residuals(self.whole(spread))), axis=-1)
        return np.asarray(np.nan_to_num(squares, nan=_FAR, posinf=_FAR))

    def _largest(self, columns: Floats) -> Floats:
        """Largest distance of each column of parts, (k, m) to (m,), as the evolution asks for it."""
        off = np.abs(self.problem.deviations(self.whole(columns.T)))
        return np.asarray(np.nan_to_num(off.max(axis=-1), nan=_FAR, posinf=_FAR))

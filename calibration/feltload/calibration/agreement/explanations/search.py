"""The search for the smallest set of causes that leaves nothing significant, and for those that do as well."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.contrasts import Contrasts, ContrastTest
from feltload.calibration.errors import GeometryError
from feltload.core import Floats

LARGEST_SET: Final = 3
_TRIED_PER_SIZE: Final = 12
AS_GOOD: Final = 6.0
"""Evidence that does not tell two causes apart: odds of 20 to 1 (twice their logarithm)."""
BLUNDER_SPREAD: Final = 4.0
"""Spread of a slight blunder in standard uncertainties: one of many is rarer than one of a few. Where two dimensions
bend the curve alike, the one that would have to be less wrong is named first."""
FAR_SHARE: Final = 0.5
"""Share of blunders that reach as far as is plausible at all, such as a misread digit (common practice, no source):
with slight ones alone, a far blunder would be ruled out by a small change of another part."""
LEFT_OVER_LEVEL: Final = 0.01
"""A cause is enough unless what it leaves would come by chance this seldom."""
CLOSEST_LEAVES: Final = 0.5
"""What explains too little is still offered as the closest while it leaves no more than this part of the misfit: what
leaves more names a culprit that nothing speaks for."""
_ROUNDS: Final = 6
_STEP: Final = 0.02
_DETERMINABLE: Final = 1e-6


@dataclass(frozen=True)
class Trial:
    """What one cause can do to the prediction.

    Attributes
    ----------
    column : ndarray, shape (k,)
        Change of the prediction per unit of its shift; of the whole cause where it is `fixed`.
    least : float
        Size of a shift below which it is no plausible cause.
    lowest, highest : float
        Shifts below and above which it is none.
    prior : float
        Twice the logarithm of its odds against an ordinary dimension.
    fixed : bool
        It is there or not, with nothing to fit.
    spread : float
        Standard deviation of a far blunder, in its unit.
    """

    column: Floats
    least: float = 0.0
    lowest: float = -np.inf
    highest: float = np.inf
    prior: float = 0.0
    fixed: bool = False
    spread: float = BLUNDER_SPREAD

    def allows(self, shift: float) -> bool:
        """Whether the shift is plausible."""
        return self.lowest <= shift <= self.highest and abs(shift) >= self.least


@dataclass(frozen=True)
class Cause:
    """A set of causes whose shifts explain the difference.

    Attributes
    ----------
    indices : tuple of int
        Which trials.
    shifts : ndarray
        Of each, in its unit; 1 for a fixed one.
    evidence : float
        Twice the log odds of this blunder against none.
    if_slight : float
        The same, were every blunder a slight one.
    test : ContrastTest
        What is left, tested again.
    """

    indices: tuple[int, ...]
    shifts: Floats
    evidence: float
    if_slight: float
    test: ContrastTest


Predicted = Callable[[Sequence[int], Floats], Floats]
"""Change of the prediction (k,) by shifts of some trials; raises GeometryError where there is no such machine."""


@dataclass(frozen=True)
class _Fit:
    indices: tuple[int, ...]
    shifts: Floats
    evidence: float
    if_slight: float
    left: Floats
    columns: Floats


class Search:
    """The search for causes of a difference.

    Parameters
    ----------
    contrasts : Contrasts
        The difference, how it is weighed and tested.
    trials : sequence of Trial
    predicted : callable, optional
        What several causes do together, beyond first order; the sum of their columns when left out.
    """

    def __init__(
        self, contrasts: Contrasts, trials: Sequence[Trial], predicted: Predicted | None = None
    ) -> None:
        self._contrasts, self._trials = contrasts, trials
        self._predicted = predicted or self._linear
        self._nothing = contrasts.misfit(contrasts.difference)

    @property
    def determinable(self) -> tuple[int, ...]:
        """Trials that change the prediction at all."""
        size = np.array([self._contrasts.misfit(trial.column) for trial in self._trials])
        # A slip is as large as it is; a shift by one unit is what dimensions are compared by.
        largest = max(
            (s for s, trial in zip(size, self._trials, strict=True) if not trial.fixed), default=0.0
        )
        return tuple(int(i) for i in np.flatnonzero(size > _DETERMINABLE * max(float(largest), 1e-12)))

    def causes(self) -> tuple[list[Cause], bool]:
        """Smallest sets of plausible causes that explain the difference, best first.

        Returns
        -------
        causes : list of Cause
            Sets of the smallest size that leaves nothing significant, as good as the best of them, the one that would
            have to be least wrong first; or, if no set of up to three causes does, the single best-fitting set where
            that explains half of the misfit, else none.
        explained : bool
            Whether they leave nothing significant.
        """
        best: _Fit | None = None
        for size in range(1, min(LARGEST_SET, len(self.determinable)) + 1):
            fits = self._best_fits(size)
            enough = [cause for fit in fits if (cause := self._tested(fit)).test.p_value > LEFT_OVER_LEVEL]
            if enough:
                as_good = [c for c in enough if c.evidence > enough[0].evidence - AS_GOOD]
                return sorted(as_good, key=lambda cause: -cause.if_slight), True
            best = fits[0] if fits else best
        if best is None or self._contrasts.misfit(best.left) > CLOSEST_LEAVES * self._nothing:
            return [], False
        return [self._tested(best)], False

    def _best_fits(self, size: int) -> list[_Fit]:
        """Plausible sets of one size with the most evidence, fitted beyond first order."""
        sets = [
            chosen
            for chosen in itertools.combinations(self.determinable, size)
            if size == 1 or sum(self._trials[i].fixed for i in chosen) <= 1
        ]
        if size > 1:
            first = [self._first_order(chosen) for chosen in sets]
            first = [fit for fit in first if self._plausible(fit)]
            sets = [fit.indices for fit in sorted(first, key=lambda fit: -fit.evidence)[:_TRIED_PER_SIZE]]
        fits = [fit for chosen in sets if (fit := self._settled(chosen)) is not None]
        fits = [fit for fit in fits if self._plausible(fit)]
        return sorted(fits, key=lambda fit: -fit.evidence)[:_TRIED_PER_SIZE]

    def _first_order(self, chosen: tuple[int, ...]) -> _Fit:
        columns = np.column_stack([self._trials[i].column for i in chosen])
        return self._fit(chosen, columns, np.zeros(len(chosen)), self._contrasts.difference)

    def _settled(self, chosen: tuple[int, ...]) -> _Fit | None:
        """Least squares of the shifts, the prediction followed as it bends; None where there is no such machine."""
        shifts = np.array([1.0 if self._trials[i].fixed else 0.0 for i in chosen])
        try:
            for _ in range(_ROUNDS):
                left = self._contrasts.difference - self._predicted(chosen, shifts)
                fit = self._fit(chosen, self._columns(chosen, shifts), shifts, left)
                moved = float(np.max(np.abs(fit.shifts - shifts)))
                shifts = np.array(
                    [
                        np.clip(s, 1.5 * self._trials[i].lowest, 1.5 * self._trials[i].highest)
                        for i, s in zip(chosen, fit.shifts, strict=True)
                    ]
                )
                if moved <= 1e-3 * max(1.0, float(np.max(np.abs(shifts)))):
                    break
            left = self._contrasts.difference - self._predicted(chosen, shifts)
            return self._fit(chosen, self._columns(chosen, shifts), shifts, left)
        except GeometryError:
            return None

    def _fit(self, chosen: tuple[int, ...], columns: Floats, shifts: Floats, left: Floats) -> _Fit:
        """One step of least squares from `shifts`, which leave `left`."""
        free = np.array([not self._trials[i].fixed for i in chosen])
        weighted = self._contrasts.weigher @ columns[:, free]
        block = columns[:, free].T @ weighted
        # Two causes with the same shape make the block singular: the least change of both then counts.
        step = np.linalg.pinv(block, rcond=1e-9, hermitian=True) @ (weighted.T @ left)
        new = shifts.copy()
        new[free] += step
        from_zero = left + columns[:, free] @ shifts[free]
        score = weighted.T @ from_zero
        evidence = self._nothing - self._contrasts.misfit(from_zero)
        evidence += sum(self._trials[i].prior for i in chosen)
        spread = np.array([t.spread for i in chosen if not (t := self._trials[i]).fixed])
        slight, far = (_gain(block, score, s) for s in (np.minimum(spread, BLUNDER_SPREAD), spread))
        # Of either sort, each as likely as its share: the likelihood is their mean.
        either = 2.0 * float(
            np.logaddexp(0.5 * slight + math.log1p(-FAR_SHARE), 0.5 * far + math.log(FAR_SHARE))
        )
        return _Fit(chosen, new, evidence + either, evidence + slight, left, columns[:, free])

    def _columns(self, chosen: tuple[int, ...], shifts: Floats) -> Floats:
        if self._predicted == self._linear:
            return np.column_stack([self._trials[i].column for i in chosen])
        columns = []
        for at, i in enumerate(chosen):
            step = np.zeros(len(chosen))
            step[at] = 0.0 if self._trials[i].fixed else _STEP
            high, low = (self._predicted(chosen, shifts + sign * step) for sign in (1.0, -1.0))
            columns.append((high - low) / (2.0 * _STEP))
        return np.column_stack(columns)

    def _plausible(self, fit: _Fit) -> bool:
        return all(self._trials[i].allows(float(s)) for i, s in zip(fit.indices, fit.shifts, strict=True))

    def _tested(self, fit: _Fit) -> Cause:
        return Cause(
            fit.indices, fit.shifts, fit.evidence, fit.if_slight, self._contrasts.test(fit.columns, fit.left)
        )

    def _linear(self, chosen: Sequence[int], shifts: Floats) -> Floats:
        return np.column_stack([self._trials[i].column for i in chosen]) @ shifts


def _gain(block: Floats, score: Floats, spread: Floats) -> float:
    """Twice the log of the likelihood that Gaussian shifts of these spreads gain on average against none."""
    scaled = np.eye(spread.size) + spread[:, None] * block * spread
    weighed = spread * score
    return float(weighed @ np.linalg.solve(scaled, weighed)) - float(np.linalg.slogdet(scaled)[1])

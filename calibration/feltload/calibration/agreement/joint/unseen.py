"""What a comparison that agrees could not have seen: the smallest change of each dimension that it would have found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.core import ONE_SIDED_COVERAGE_95, Floats


class Addition(StrEnum):
    """What else could be measured."""

    SECOND_LOAD = "second-load"
    BRISK_REPETITIONS = "brisk-repetitions"
    FREE_SWING = "free-swing"


@dataclass(frozen=True)
class Unseen:
    """How wrong a dimension could be without being found.

    Attributes
    ----------
    surveyed : Parameter
    found_from : float
        Smallest shift (SI) that this comparison finds in 95 % of cases; infinite where none changes anything.
    addition : Addition or None
        What would lower it most, where something lowers it much.
    found_from_then : float
        The smallest shift with that addition.
    """

    surveyed: Parameter
    found_from: float
    addition: Addition | None = None
    found_from_then: float = math.inf

    @property
    def key(self) -> ParameterKey:
        """Which dimension."""
        return self.surveyed.key

    @property
    def hidden(self) -> bool:
        """No plausible shift of it would be found."""
        low, high = self.surveyed.plausible
        return self.found_from > max(self.surveyed.value - low, high - self.surveyed.value)


@dataclass(frozen=True)
class Design:
    """What is observed, before anything is measured.

    Attributes
    ----------
    noise : ndarray, shape (k, k)
        Covariance of the observations at a given machine.
    shapes : ndarray, shape (k, p)
        Change of the prediction per standard uncertainty of each dimension.
    """

    noise: Floats
    shapes: Floats

    def found_from_u(self, critical: float) -> Floats:
        """Smallest shift of each dimension, in standard uncertainties, that is found in 95 % of cases, (p,).

        A shift of size s is found where a contrast w of the difference exceeds `critical` times its standard
        deviation; given the shift that dimension's own uncertainty is no part of the noise.
        """
        covariance = self.noise + self.shapes @ self.shapes.T
        floor = 1e-9 * float(np.trace(covariance)) / max(covariance.shape[0], 1)
        weigher = np.linalg.inv(covariance + floor * np.eye(covariance.shape[0]))
        contrasts = np.vstack([np.eye(covariance.shape[0]), (weigher @ self.shapes).T])
        spread = np.sqrt(np.einsum("ij,jk,ik->i", contrasts, covariance, contrasts))
        reach = np.abs(contrasts @ self.shapes)
        without = np.sqrt(np.maximum(spread[:, None] ** 2 - reach**2, 0.0))
        needed = critical * spread[:, None] + ONE_SIDED_COVERAGE_95 * without
        with np.errstate(divide="ignore", invalid="ignore"):
            size = np.where(reach > 1e-4 * spread[:, None], needed / reach, np.inf)
        return np.asarray(size.min(axis=0))


_MUCH_LOWER = 0.7


def unseen(
    parameters: Sequence[Parameter], critical: float, design: Design, additions: Mapping[Addition, Design]
) -> tuple[Unseen, ...]:
    """How wrong each uncertain dimension could be, and which addition would show it.

    Parameters
    ----------
    parameters : sequence of Parameter
        Of the columns of every design's shapes.
    critical : float
        Limit of the largest standardised contrast.
    design : Design
        As it was measured.
    additions : mapping
        Designs with something more.
    """
    now = design.found_from_u(critical)
    then = {name: more.found_from_u(critical) for name, more in additions.items()}
    out = []
    for k, p in enumerate(parameters):
        if p.u <= 0.0:
            continue
        best = min(then, key=lambda name: then[name][k], default=None)
        if best is None or then[best][k] > _MUCH_LOWER * now[k]:
            out.append(Unseen(p, float(now[k] * p.u)))
        else:
            out.append(Unseen(p, float(now[k] * p.u), best, float(then[best][k] * p.u)))
    return tuple(out)

"""Fit of surveyed dimensions to a measured profile, with the survey as prior knowledge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy

from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.core import Floats

_RELEASED: Final = 1e3
"""A dimension that the test names as wrong counts as this many times as uncertain as it was surveyed."""


@dataclass(frozen=True)
class FittedDimension:
    """One dimension as surveyed and as fitted.

    Attributes
    ----------
    surveyed : Parameter
        As the machine file has it.
    value, u : float
        As fitted, and its standard uncertainty, SI.
    """

    surveyed: Parameter
    value: float
    u: float

    @property
    def key(self) -> ParameterKey:
        """Which dimension."""
        return self.surveyed.key

    @property
    def shift(self) -> float:
        """Fitted minus surveyed, SI."""
        return self.value - self.surveyed.value

    @property
    def shift_in_u(self) -> float:
        """The shift in standard uncertainties of the survey."""
        return self.shift / self.surveyed.u


@dataclass(frozen=True)
class SurveyFit:
    """Fitted dimensions.

    Attributes
    ----------
    dimensions : tuple of FittedDimension
        One for every uncertain dimension.
    covariance : ndarray, shape (p, p)
        Of the fitted values, SI, in the order of `dimensions`.
    """

    dimensions: tuple[FittedDimension, ...]
    covariance: Floats

    @property
    def values(self) -> Values:
        """Fitted values, SI."""
        return {dimension.key: dimension.value for dimension in self.dimensions}


def fit_survey(
    predict: Callable[[Values], Floats],
    measured_n: Floats,
    covariance_n2: Floats,
    parameters: Sequence[Parameter],
    released: Sequence[ParameterKey] = (),
    start: Values | None = None,
) -> SurveyFit:
    """Least squares over measurement and survey together.

    Parameters
    ----------
    predict : callable
        Force (k,) from dimensions (SI).
    measured_n : ndarray, shape (k,)
        Measured force of all loads and angles.
    covariance_n2 : ndarray, shape (k, k)
        Of the measurement and of everything in the prediction that is no dimension.
    parameters : sequence of Parameter
        Dimensions to fit; their uncertainties are the prior.
    released : sequence of ParameterKey
        Dimensions known to be wrong, fitted without their survey, as far as they can plausibly be wrong.
    start : mapping, optional
        Values that stand for surveyed ones from the start, because one cause moved them together.

    Notes
    -----
    Generalised least squares with the survey as a prior; joint covariance as in JCGM 102:2011 (from memory).
    """
    keys = [p.key for p in parameters]
    moved = start or {}
    centre = np.array([moved.get(p.key, p.value) for p in parameters])
    surveyed_u = np.array([p.u for p in parameters])
    prior_u = np.array([p.u * (_RELEASED if p.key in released else 1.0) for p in parameters])
    ends = np.array(
        [p.plausible if p.key in released else (-np.inf, np.inf) for p in parameters], dtype=float
    ).reshape(-1, 2)
    ends = (ends - centre[:, None]) / surveyed_u[:, None]
    bounds = np.minimum(ends[:, 0], -1e-3), np.maximum(ends[:, 1], 1e-3)
    values, vectors = np.linalg.eigh(covariance_n2)
    whiten = (vectors / np.sqrt(np.maximum(values, values.max() * 1e-12))).T

    def residuals(shift: Floats) -> Floats:
        dimensions = dict(zip(keys, map(float, centre + shift * surveyed_u), strict=True))
        return np.concatenate([whiten @ (predict(dimensions) - measured_n), shift * surveyed_u / prior_u])

    solved = scipy.optimize.least_squares(
        residuals, np.zeros(centre.size), method="trf", jac="3-point", bounds=bounds, max_nfev=60
    )
    shift = np.asarray(solved.x, dtype=float)
    jacobian = np.asarray(solved.jac, dtype=float)
    scaled = np.linalg.inv(jacobian.T @ jacobian)
    covariance = scaled * np.outer(surveyed_u, surveyed_u)
    fitted = centre + shift * surveyed_u
    u = np.sqrt(np.diag(covariance))
    return SurveyFit(
        tuple(
            FittedDimension(parameter, float(fitted[i]), float(u[i]))
            for i, parameter in enumerate(parameters)
        ),
        covariance,
    )

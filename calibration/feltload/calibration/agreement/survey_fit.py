"""Fit of surveyed dimensions to a measured profile, with the survey as prior knowledge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from feltload.calibration.machine.parameters import Parameter, spoken_unit
from feltload.core import Floats

# A dimension that the verdict names as wrong keeps this little of its survey.
_RELEASED: Final = 1e3


@dataclass(frozen=True)
class FittedDimension:
    """One dimension as surveyed and as fitted, in the unit the person wrote.

    Attributes
    ----------
    shift_in_u : float
        (fitted - surveyed) / surveyed_u.
    """

    name: str
    surveyed: float
    surveyed_u: float
    fitted: float
    fitted_u: float
    unit: str
    shift_in_u: float


@dataclass(frozen=True)
class SurveyFit:
    """Fitted dimensions.

    Attributes
    ----------
    values : dict
        Fitted values by name, SI.
    covariance : ndarray, shape (p, p)
        Of the fitted values, SI, in the order of `values`.
    dimensions : tuple of FittedDimension
        The same for people.
    """

    values: dict[str, float]
    covariance: Floats
    dimensions: tuple[FittedDimension, ...]


def fit_survey(
    predict: Callable[[dict[str, float]], Floats],
    measured_n: Floats,
    covariance_n2: Floats,
    parameters: Sequence[Parameter],
    released: Sequence[str] = (),
) -> SurveyFit:
    """Least squares over measurement and survey together.

    Parameters
    ----------
    predict : callable
        Force (k,) from dimensions by name (SI).
    measured_n : ndarray, shape (k,)
        Measured force of all loads and angles.
    covariance_n2 : ndarray, shape (k, k)
        Of the measurement and of everything in the prediction that is no dimension.
    parameters : sequence of Parameter
        Dimensions to fit; their uncertainties are the prior.
    released : sequence of str
        Dimensions known to be wrong, fitted without their survey.

    Notes
    -----
    Generalised least squares with prior (GUM 2008, 4.1.4 note; JCGM 102:2011 for the joint covariance).
    """
    names = [p.name for p in parameters]
    start = np.array([p.value for p in parameters])
    surveyed_u = np.array([p.u for p in parameters])
    prior_u = np.array([p.u * (_RELEASED if p.name in released else 1.0) for p in parameters])
    values, vectors = np.linalg.eigh(covariance_n2)
    whiten = (vectors / np.sqrt(np.maximum(values, values.max() * 1e-12))).T

    def residuals(shift: Floats) -> Floats:
        dimensions = dict(zip(names, start + shift * surveyed_u, strict=True))
        return np.concatenate([whiten @ (predict(dimensions) - measured_n), shift * surveyed_u / prior_u])

    solved = least_squares(residuals, np.zeros(start.size), method="trf", jac="3-point", max_nfev=60)
    shift = np.asarray(solved.x, dtype=float)
    jacobian = np.asarray(solved.jac, dtype=float)
    scaled = np.linalg.inv(jacobian.T @ jacobian)
    covariance = scaled * np.outer(surveyed_u, surveyed_u)
    fitted = start + shift * surveyed_u
    dimensions = tuple(
        FittedDimension(
            name=p.name,
            surveyed=p.value / p.per_unit,
            surveyed_u=p.u / p.per_unit,
            fitted=float(fitted[i]) / p.per_unit,
            fitted_u=float(np.sqrt(covariance[i, i])) / p.per_unit,
            unit=spoken_unit(p.unit),
            shift_in_u=float(shift[i]),
        )
        for i, p in enumerate(parameters)
    )
    return SurveyFit(dict(zip(names, map(float, fitted), strict=True)), covariance, dimensions)

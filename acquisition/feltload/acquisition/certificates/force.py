"""The certificate of a load cell: newtons from readings, with their uncertainty and class."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pydantic
from numpy.typing import ArrayLike
from pydantic import Field

from feltload.acquisition.certificates.head import Certificate, Record, StoredFact, require_covariance
from feltload.core import Floats

__all__ = [
    "ClassResult",
    "DegreeTest",
    "ForceCertificate",
    "ForceReading",
    "LowerLimit",
    "StepErrors",
    "Uncertainty",
]


_FARTHEST = 4.0
"""A curve is looked at up to this many times the reading at which its chord from zero reaches the highest force."""


class Uncertainty(Record):
    """One line of an uncertainty budget: standard uncertainty = ``u_n`` plus ``u_relative`` times force."""

    source: str
    u_n: float = Field(default=0.0, ge=0)
    u_relative: float = Field(default=0.0, ge=0)


class ForceReading(Record):
    """One reading under dead weight, as used or left out.

    ``direction`` is "rising" or "falling"; ``reading`` is in the unit of the certificate; the residual is
    certificate minus applied force.
    """

    row: int
    series: str
    direction: Literal["rising", "falling"]
    position_deg: float | None = None
    applied_n: float
    reading: float
    residual_n: float
    excluded: bool = False


class StepErrors(Record):
    """Relative errors in percent of one force step, and its mean rising deflection; None where the loading shows none.

    Names follow ISO 376 (b, b', f_c, v) and ISO 7500-1 (q, b, v).
    """

    force_n: float
    u95_n: float
    mean_deflection: float | None = None
    reproducibility_percent: float | None = None
    repeatability_percent: float | None = None
    interpolation_percent: float | None = None
    reversibility_percent: float | None = None
    indication_percent: float | None = None
    indication_spread_percent: float | None = None


class ClassResult(Record):
    """Outcome against one standard.

    ``class_name`` is None when no class is met. ``missing`` names errors that the loading could not
    show: with anything missing the class is an indication and not a classification.
    """

    standard: str
    class_name: str | None
    from_n: float | None = None
    to_n: float | None = None
    zero_percent: float | None = None
    creep_percent: float | None = None
    resolution_percent: float | None = None
    missing: list[StoredFact] = Field(default_factory=list)


class LowerLimit(Record):
    """ASTM E74: residual standard deviation, lower limit factor and lowest force of each class.

    A class force is None where it lies above the highest force applied.
    """

    residual_sd_n: float = Field(ge=0)
    factor_n: float = Field(ge=0)
    class_a_from_n: float | None = None
    class_aa_from_n: float | None = None
    missing: list[StoredFact] = Field(default_factory=list)


class DegreeTest(Record):
    """Why the curve has its degree: the F test of ASTM E74, annex A1.

    ``ratio`` is by what the residual standard deviation falls from the degree below, ``needed`` the ratio that the
    test asks for; None where no degree above the first passes.
    """

    loads: int
    ratio: float | None = None
    needed: float | None = None


class ForceCertificate(Certificate):
    """Calibration of a load cell with its electronics: newtons from readings.

    Force in newtons is a polynomial in ``x = (reading - zero_reading) / reading_scale`` with
    ``coefficients_n`` in ascending powers, so the coefficients are all in newtons and well scaled.
    ``covariance_n2`` is theirs, from the scatter of the readings; what is common to all readings
    (weights, gravity, air) stands in ``budget``. ``degree_evidence`` is the sentence that files of an older format
    have in place of ``degree_test``. ``resolution`` is in the unit of the readings; ``preloads`` counts how often the
    highest load was put on beforehand. What was not stated is empty or None.
    """

    kind: Literal["force"] = "force"
    reading_unit: Literal["counts", "mV/V"]
    zero_reading: float
    reading_scale: float
    coefficients_n: list[float] = Field(min_length=2, max_length=4)
    covariance_n2: list[list[float]]
    lowest_n: float
    highest_n: float = Field(gt=0)
    rated_capacity_n: float | None = Field(default=None, gt=0)
    loading: Literal["tension", "compression"] | None = None
    preloads: int | None = Field(default=None, ge=0)
    weights: str = ""
    traceability: str = ""
    fittings: str = ""
    indicator: str = ""
    resolution: float | None = Field(default=None, ge=0)
    budget: list[Uncertainty]
    degree_test: DegreeTest | None = None
    degree_evidence: str = ""
    lower_limit: LowerLimit
    classes: list[ClassResult] = Field(default_factory=list)
    steps: list[StepErrors] = Field(default_factory=list)
    readings: list[ForceReading] = Field(default_factory=list)

    @pydantic.model_validator(mode="after")
    def _covariance_fits(self) -> ForceCertificate:
        m = len(self.coefficients_n)
        require_covariance("covariance_n2", self.covariance_n2, m, f"the {m} coefficients_n")
        if self.reading_scale == 0:
            raise ValueError("reading_scale must not be 0")
        if not self.lowest_n <= self.highest_n:
            raise ValueError("lowest_n lies above highest_n")
        return self

    @pydantic.model_validator(mode="after")
    def _curve_rises(self) -> ForceCertificate:
        """One force for one reading, up to the highest."""
        chord = self.coefficients_n[1]
        direction = np.sign(chord)
        x = np.linspace(0.0, _FARTHEST * self.highest_n, 2001) / (chord or 1.0)
        slope = direction * np.polynomial.polynomial.polyval(
            x, np.polynomial.polynomial.polyder(self.coefficients_n)
        )
        reached = np.flatnonzero(
            np.polynomial.polynomial.polyval(x, self.coefficients_n) >= self.highest_n * (1 - 1e-6)
        )
        if direction == 0 or not reached.size or np.any(slope[: reached[0] + 1] <= 0):
            raise ValueError("coefficients_n: the curve does not rise from zero to highest_n")
        return self

    def _powers(self, reading: ArrayLike) -> Floats:
        x = (np.asarray(reading, dtype=float) - self.zero_reading) / self.reading_scale
        return x[..., None] ** np.arange(len(self.coefficients_n))

    def force_n(self, reading: ArrayLike) -> Floats:
        """Force in newtons from readings in ``reading_unit``; same shape as the readings."""
        force: Floats = self._powers(reading) @ np.asarray(self.coefficients_n)
        return force

    def n_per_reading(self, reading: ArrayLike | None = None) -> Floats:
        """Slope of the curve, newtons per unit of reading; at zero when no reading is given."""
        at = np.asarray(self.zero_reading if reading is None else reading, dtype=float)
        x = (at - self.zero_reading) / self.reading_scale
        slope = np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyder(self.coefficients_n))
        return np.asarray(slope / self.reading_scale)

    def reading_of(self, force_n: ArrayLike) -> Floats:
        """Reading at a force: the curve turned round by Newton's method from the chord."""
        force = np.asarray(force_n, dtype=float)
        reading = self.zero_reading + force / self.n_per_reading()
        for _ in range(20):
            step = (self.force_n(reading) - force) / self.n_per_reading(reading)
            reading = reading - step
            if np.all(np.abs(step) <= 1e-13 * (np.abs(reading) + np.abs(self.reading_scale))):
                break
        return np.asarray(reading)

    def u_curve_n(self, reading: ArrayLike) -> Floats:
        """Standard uncertainty in newtons of the curve alone, from the covariance of its coefficients."""
        powers = self._powers(reading)
        variance = np.einsum("...i,ij,...j->...", powers, np.asarray(self.covariance_n2), powers)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)))

    def u_force_n(self, force_n: ArrayLike) -> Floats:
        """Standard uncertainty in newtons of a force measured with this certificate (whole budget)."""
        force = np.abs(np.asarray(force_n, dtype=float))
        variance = self.u_curve_n(self.reading_of(np.asarray(force_n, dtype=float))) ** 2
        for line in self.budget:
            variance = variance + (line.u_n + line.u_relative * force) ** 2
        return np.asarray(np.sqrt(variance))

"""Result of comparing a measured profile with the surveyed machine."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.calibration.agreement.contrasts import ContrastTest
from feltload.calibration.agreement.explanation import CurvePoint, Explanation, ExplanationKind
from feltload.calibration.agreement.explanations.sensor_place import StartHint
from feltload.calibration.agreement.joint.observations import BesideRow
from feltload.calibration.agreement.joint.tilt import MeasuredTilt
from feltload.calibration.agreement.joint.unseen import Unseen
from feltload.calibration.agreement.survey_fit import FittedDimension
from feltload.calibration.machine.parameters import ParameterKey
from feltload.core import (
    EXPANDED_COVERAGE_K,
    NORMAL_COVERAGE_95,
    Curve,
    Floats,
    Picture,
    Shown,
    Summary,
    mass_text,
    with_u95,
)
from feltload.signal import Travel

if TYPE_CHECKING:
    import pandas as pd

WIDEST_BAND_PERCENT: Final = 10.0
"""A combined 95 % band wider than this (half-width, mean over the curve, percent of the peak) shows nothing."""


class AgreementVerdict(StrEnum):
    """Whether the measured forces are those of the surveyed machine."""

    AGREES = "agrees"
    DIFFERS = "differs"
    INCONCLUSIVE = "inconclusive"


@dataclass(frozen=True, repr=False)
class Agreement(Shown):
    """A measured profile compared with the machine's geometry; arrays run over the loads, angles ascending in each.

    Attributes
    ----------
    load_kg, angle_rad : ndarray, shape (k,)
        Where forces are compared.
    measured_n, measured_u_n : ndarray, shape (k,)
        Measured force and its standard uncertainty at a given rotation.
    model_n, model_u_n : ndarray, shape (k,)
        Predicted force and its standard uncertainty.
    fitted_model_n : ndarray, shape (k,)
        What the fitted machine predicts.
    fitted : tuple of FittedDimension
        Every uncertain dimension, fitted.
    explanation : Explanation
        What explains a difference.
    test : ContrastTest
        The simultaneous test behind the verdict.
    first_order : bool
        Whether Monte Carlo confirmed the model band.
    g_m_s2, g_u_m_s2 : float
        Gravity that the prediction is computed with, and its standard uncertainty.
    default_u : tuple of ParameterKey
        Dimensions whose uncertainty is a default.
    travel : Travel
        The measured travel, along which positions are given.
    beside : tuple of BesideRow
        What was measured beside the force and compared with it.
    tilt : MeasuredTilt or None
        The hinge's tilt by gravity.
    start_hint : StartHint or None
        What the sensor's place says against the start angle.
    unseen : tuple of Unseen
        How wrong each dimension could be without being found, where nothing differs.
    """

    load_kg: Floats
    angle_rad: Floats
    measured_n: Floats
    measured_u_n: Floats
    model_n: Floats
    model_u_n: Floats
    fitted_model_n: Floats
    fitted: tuple[FittedDimension, ...]
    explanation: Explanation
    test: ContrastTest
    first_order: bool
    g_m_s2: float
    g_u_m_s2: float
    default_u: tuple[ParameterKey, ...]
    travel: Travel
    beside: tuple[BesideRow, ...] = ()
    tilt: MeasuredTilt | None = None
    start_hint: StartHint | None = None
    unseen: tuple[Unseen, ...] = ()

    @property
    def verdict(self) -> AgreementVerdict:
        """Differs where the test says so; else it agrees, unless the bands are too wide to show it."""
        if self.test.differs:
            return AgreementVerdict.DIFFERS
        wide = self.band_percent > WIDEST_BAND_PERCENT
        return AgreementVerdict.INCONCLUSIVE if wide else AgreementVerdict.AGREES

    @property
    def angles_deg(self) -> Floats:
        """Angles, degrees, shape (k,)."""
        return np.degrees(self.angle_rad)

    @property
    def measured_expanded_u_n(self) -> Floats:
        """Expanded uncertainty (k = 2) of the measured force, shape (k,)."""
        return EXPANDED_COVERAGE_K * self.measured_u_n

    @property
    def model_expanded_u_n(self) -> Floats:
        """Expanded uncertainty (k = 2) of the predicted force, shape (k,)."""
        return EXPANDED_COVERAGE_K * self.model_u_n

    @property
    def model_u95_n(self) -> Floats:
        """Half-width of the prediction's 95 % band, shape (k,)."""
        return NORMAL_COVERAGE_95 * self.model_u_n

    @property
    def en(self) -> Floats:
        """E_n = (measured - model) / sqrt(U_measured² + U_model²), expanded uncertainties with k = 2, shape (k,)."""
        together = np.hypot(self.measured_expanded_u_n, self.model_expanded_u_n)
        return np.asarray((self.measured_n - self.model_n) / together)

    @property
    def en_max(self) -> float:
        """Largest \\|E_n\\|."""
        return float(np.abs(self.en).max())

    @property
    def score(self) -> float:
        """What decides: above 1 measurement and machine file differ."""
        return self.test.score

    @property
    def en_limit(self) -> float:
        """Limit of \\|E_n\\| at any position of the whole curve: beyond it `score` is above 1."""
        return self.test.critical / EXPANDED_COVERAGE_K

    @property
    def band_percent(self) -> float:
        """Mean half-width of the combined 95 % band in percent of the peak."""
        half = NORMAL_COVERAGE_95 * np.hypot(self.measured_u_n, self.model_u_n)
        return float(100.0 * np.mean(half) / np.abs(self.measured_n).max())

    @property
    def residual_n(self) -> Floats:
        """Measured minus the fitted machine, shape (k,)."""
        return self.measured_n - self.fitted_model_n

    @property
    def residual_u95_n(self) -> Floats:
        """Half-width of the measurement's own 95 % band, shape (k,)."""
        return NORMAL_COVERAGE_95 * self.measured_u_n

    @property
    def largest(self) -> CurvePoint:
        """Where measurement and survey are furthest apart for their uncertainty."""
        at = int(np.argmax(np.abs(self.en)))
        difference = float(self.measured_n[at] - self.model_n[at])
        return CurvePoint(float(self.load_kg[at]), float(self.angle_rad[at]), difference)

    @property
    def changed(self) -> tuple[ParameterKey, ...]:
        """The smallest set of dimensions that explains a difference; empty when there is none to explain."""
        return tuple(dimension.key for dimension in self.explanation.causes)

    @property
    def explained(self) -> bool:
        """Whether changed dimensions explain the difference (true when there is none)."""
        return self.explanation.remaining is None

    @property
    def explanation_kind(self) -> ExplanationKind:
        """What the explanation comes to."""
        if self.verdict is AgreementVerdict.AGREES:
            return ExplanationKind.NOTHING_DIFFERS
        if self.verdict is AgreementVerdict.INCONCLUSIVE:
            return ExplanationKind.BANDS_TOO_WIDE
        if not self.explained:
            return ExplanationKind.BEYOND_DIMENSIONS
        return ExplanationKind.OTHER_LOADS if self.explanation.loads else ExplanationKind.DIMENSIONS_MOVED

    def summary(self) -> Summary:
        """The verdict, and the furthest difference of each load for its uncertainty."""
        rows = []
        for load in np.unique(self.load_kg):
            here = np.flatnonzero(self.load_kg == load)
            k = here[np.argmax(np.abs(self.en[here]))]
            u95 = NORMAL_COVERAGE_95 * float(np.hypot(self.measured_u_n[k], self.model_u_n[k]))
            difference = with_u95(float(self.measured_n[k] - self.model_n[k]), u95, "N")
            at = self.travel.said(float(self.angle_rad[k]))
            rows.append((mass_text(float(load)), difference, at, f"{self.en[k]:.2f}".replace("-", "−")))
        return Summary(
            f"Measurement compared with the machine file: {self.verdict}",
            ("load", "measured minus predicted (95 %)", "at", "E_n"),
            tuple(rows),
        )

    def picture(self) -> Picture:
        """Measured and predicted force, each with its band."""
        curves = []
        for load in np.unique(self.load_kg):
            here = self.load_kg == load
            for what, force, u95 in (
                ("measured", self.measured_n, self.residual_u95_n),
                ("machine file", self.model_n, self.model_u95_n),
            ):
                name = f"{mass_text(float(load))}, {what}"
                curves.append(Curve.within(name, self.angle_rad[here], force[here], u95[here]))
        title, scales = self.summary().title, self.travel.scales()
        return Picture(title, "static force at the handle, N", tuple(curves), scales, line_name="force")

    def to_frame(self) -> pd.DataFrame:
        """One row a load and position.

        Returns
        -------
        DataFrame
            ``load_kg``, columns of the position, then ``measured_n, measured_u95_n, model_n, model_u95_n, en``.
        """
        import pandas as pd

        return pd.DataFrame(
            {
                "load_kg": self.load_kg,
                **self.travel.columns(self.angle_rad),
                "measured_n": self.measured_n,
                "measured_u95_n": self.residual_u95_n,
                "model_n": self.model_n,
                "model_u95_n": self.model_u95_n,
                "en": self.en,
            }
        )

"""What an agreement states, worked by hand: E_n with its sign, bands, verdict and their limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

from feltload.calibration.agreement.contrasts import ContrastTest
from feltload.calibration.agreement.explanation import CurvePoint, Explanation, ExplanationKind
from feltload.calibration.agreement.result import Agreement, AgreementVerdict
from feltload.calibration.agreement.survey_fit import FittedDimension, fit_survey
from feltload.calibration.agreement.swing import Swing, SwingCheck
from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.signal import Travel

# Uncertainties of 2 and 1.5 N make U = 4 and 3 N, together 5 N; 6 and 2.5 N make 12 and 5 N, together 13 N.
AGREEMENT = Agreement(
    load_kg=np.array([20.0, 40.0]),
    angle_rad=np.radians([10.0, 30.0]),
    measured_n=np.array([302.0, -105.0]),
    measured_u_n=np.array([2.0, 6.0]),
    model_n=np.array([310.0, -109.0]),
    model_u_n=np.array([1.5, 2.5]),
    fitted_model_n=np.array([301.0, -108.0]),
    fitted=(),
    explanation=Explanation(),
    test=ContrastTest(1.0, 2.5, 0.5),
    first_order=True,
    g_m_s2=9.81,
    g_u_m_s2=0.0,
    default_u=(),
    travel=Travel(np.radians([10.0, 30.0])),
)


def test_en_is_measured_minus_model_over_both_expanded_uncertainties() -> None:
    """(302 - 310) / 5 and (-105 + 109) / 13; ISO/IEC 17043:2010, annex B.3.1.3 (from memory)."""
    assert AGREEMENT.en == pytest.approx([-1.6, 4.0 / 13.0])
    assert AGREEMENT.en_max == pytest.approx(1.6)
    assert AGREEMENT.largest == CurvePoint(20.0, pytest.approx(np.radians(10.0)), pytest.approx(-8.0))


def test_bands_by_hand() -> None:
    assert AGREEMENT.measured_expanded_u_n == pytest.approx([4.0, 12.0])
    assert AGREEMENT.model_expanded_u_n == pytest.approx([3.0, 5.0])
    assert AGREEMENT.model_u95_n == pytest.approx([2.94, 4.9])
    assert AGREEMENT.residual_n == pytest.approx([1.0, 3.0])
    assert AGREEMENT.residual_u95_n == pytest.approx([3.92, 11.76])
    # 1.96 times 2.5 and 6.5 N, on the mean 8.82 N, of 302 N.
    assert AGREEMENT.band_percent == pytest.approx(100.0 * 8.82 / 302.0)
    assert AGREEMENT.angles_deg == pytest.approx([10.0, 30.0])


@pytest.mark.parametrize(
    ("largest", "u_factor", "verdict"),
    [
        (2.501, 1.0, AgreementVerdict.DIFFERS),
        (2.5, 1.0, AgreementVerdict.AGREES),
        # 10 % of the peak is 3.424 times the band of 2.9205 %.
        (2.5, 3.42, AgreementVerdict.AGREES),
        (2.5, 3.43, AgreementVerdict.INCONCLUSIVE),
        (2.501, 3.43, AgreementVerdict.DIFFERS),
    ],
)
def test_verdict_on_either_side_of_its_limits(largest, u_factor, verdict) -> None:
    agreement = replace(
        AGREEMENT,
        measured_u_n=u_factor * AGREEMENT.measured_u_n,
        model_u_n=u_factor * AGREEMENT.model_u_n,
        test=ContrastTest(largest, 2.5, 0.05),
    )
    assert agreement.verdict is verdict


def test_the_score_decides_and_the_limits_of_en_follow_from_it() -> None:
    """A point 2.5 standard deviations off is at E_n 1.25, with expanded uncertainties of two."""
    agreement = replace(AGREEMENT, test=ContrastTest(4.0, 2.5, 0.001))
    assert agreement.score == pytest.approx(1.6)
    assert agreement.en_limit == pytest.approx(1.25)


def test_what_an_explanation_comes_to() -> None:
    differs = replace(AGREEMENT, test=ContrastTest(4.0, 2.5, 0.001))
    assert AGREEMENT.explanation_kind is ExplanationKind.NOTHING_DIFFERS
    assert differs.explanation_kind is ExplanationKind.DIMENSIONS_MOVED
    left = replace(differs, explanation=Explanation(remaining=CurvePoint(20.0, 0.1, 5.0)))
    assert left.explanation_kind is ExplanationKind.BEYOND_DIMENSIONS
    assert differs.explained and not left.explained


@pytest.mark.parametrize(("measured", "en"), [(20.5, 0.5), (18.5, -1.5), (19.0, -1.0)])
def test_en_of_a_free_swing_by_hand(measured, en) -> None:
    """Uncertainties of 0.3 and 0.4 1/s², together 0.5, expanded 1.0; predicted 20 1/s²."""
    check = SwingCheck(Swing(measured, 0.3, 0.0, 0.5, 8), 20.0, 0.4)
    assert check.en == pytest.approx(en)
    assert check.agrees == (abs(en) <= 1.0)


RADIUS = ParameterKey("radius", "plates")


def _surveyed(key: ParameterKey, value: float, u: float) -> Parameter:
    return Parameter(key, value, u, "m", 1.0, u_is_default=False, blunder=5.0)


def _one_measurement(released=()) -> FittedDimension:
    """A force that is ten times a dimension: surveyed 10 ± 2, measured 120 N ± 40 N, that is 12 ± 4."""
    fit = fit_survey(
        lambda values: np.array([10.0 * values[RADIUS]]),
        np.array([120.0]),
        np.array([[1600.0]]),
        [_surveyed(RADIUS, 10.0, 2.0)],
        released,
    )
    assert fit.values == {RADIUS: fit.dimensions[0].value}
    assert fit.dimensions[0].u == pytest.approx(np.sqrt(fit.covariance[0, 0]))
    return fit.dimensions[0]


def test_survey_and_measurement_have_the_weight_of_their_uncertainties() -> None:
    """(10 / 4 + 12 / 16) / (1/4 + 1/16) = 10.4, with u² = 1 / (1/4 + 1/16): the weighted mean of two values."""
    fitted = _one_measurement()
    assert fitted.value == pytest.approx(10.4, rel=1e-6)
    assert fitted.u == pytest.approx(np.sqrt(3.2), rel=1e-6)
    assert (fitted.shift, fitted.shift_in_u) == (pytest.approx(0.4, rel=1e-5), pytest.approx(0.2, rel=1e-5))
    assert fitted.key == RADIUS


def test_a_dimension_known_to_be_wrong_follows_the_measurement() -> None:
    fitted = _one_measurement(released=[RADIUS])
    assert fitted.value == pytest.approx(12.0, rel=1e-4)
    assert fitted.u == pytest.approx(4.0, rel=1e-4)


HANDLE = ParameterKey("handle_radius")


@pytest.mark.parametrize(
    ("released", "values", "variances", "shared"),
    [
        # Each takes a third of the 3 that are missing: variances of 1 - 1/3, a covariance of -1/3.
        ((), (11.0, 21.0), (2.0 / 3.0, 2.0 / 3.0), -1.0 / 3.0),
        # The wrong one takes all of it: what is measured less the other.
        ((HANDLE,), (10.0, 23.0), (1.0, 2.0), -1.0),
    ],
)
def test_two_dimensions_share_what_only_their_sum_shows(released, values, variances, shared) -> None:
    """10 ± 1 and 20 ± 1 of which the sum is measured to be 33 ± 1."""
    fit = fit_survey(
        lambda at: np.array([at[RADIUS] + at[HANDLE]]),
        np.array([33.0]),
        np.array([[1.0]]),
        [_surveyed(RADIUS, 10.0, 1.0), _surveyed(HANDLE, 20.0, 1.0)],
        released,
    )
    assert tuple(fit.values.values()) == pytest.approx(values, rel=1e-5)
    assert np.diag(fit.covariance) == pytest.approx(variances, rel=1e-4)
    assert fit.covariance[0, 1] == pytest.approx(shared, rel=1e-4)


@pytest.mark.parametrize(
    ("covariance", "measured", "value", "variance"),
    [
        # Weights of 3.5 and 0.5 out of 3.75: (3.5 x 12 + 0.5 x 11) / 4.
        ([[1.0, 0.5], [0.5, 4.0]], (12.0, 11.0), 11.875, 0.9375),
        # The same error twice: the second tells nothing more.
        ([[4.0, 4.0], [4.0, 4.0]], (12.0, 12.0), 12.0, 4.0),
    ],
)
def test_measurements_that_hang_together_count_for_less(covariance, measured, value, variance) -> None:
    """A length read twice, hardly surveyed: generalised least squares."""
    fit = fit_survey(
        lambda at: np.array([at[RADIUS], at[RADIUS]]),
        np.array(measured),
        np.array(covariance),
        [_surveyed(RADIUS, 10.0, 1e3)],
    )
    assert fit.values[RADIUS] == pytest.approx(value, rel=1e-4)
    assert fit.covariance[0, 0] == pytest.approx(variance, rel=1e-4)


def test_shown_in_a_notebook() -> None:
    k = int(np.argmax(np.abs(AGREEMENT.en)))
    assert f"E_n {AGREEMENT.en[k]:.2f}".replace("-", "−") in repr(AGREEMENT)
    assert repr(AGREEMENT).startswith(
        f"<Measurement compared with the machine file: {AGREEMENT.verdict}: load "
    )
    table = AGREEMENT.to_frame()
    ax = AGREEMENT.plot(Figure().subplots())
    drawn = np.concatenate([line.get_ydata() for line in ax.lines[::2]])
    assert drawn == pytest.approx(table["measured_n"].to_numpy())
    names = {text.get_text() for text in ax.texts}
    assert names == {f"{load} kg, {what}" for load in (20, 40) for what in ("measured", "machine file")}
    assert table["en"].to_numpy() == pytest.approx(AGREEMENT.en)

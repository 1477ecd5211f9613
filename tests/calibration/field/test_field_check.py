"""One known weight against a certificate, by hand."""

import datetime as dt

import numpy as np
import pytest

from feltload.acquisition.certificates.certificate import ForceCertificate, LowerLimit, Uncertainty
from feltload.calibration.field.check import check_in_the_field
from feltload.core.errors import InputError


def a_certificate():
    return ForceCertificate(
        serial="T-1",
        calibrated_on=dt.date(2026, 3, 2),
        expires_on=dt.date(2027, 3, 2),
        gravity_m_s2=9.81,
        gravity_u_m_s2=3e-4,
        reading_unit="counts",
        zero_reading=1000.0,
        reading_scale=100000.0,
        coefficients_n=[0.0, 1000.0],
        covariance_n2=[[0.0, 0.0], [0.0, 0.0]],
        lowest_n=100.0,
        highest_n=1000.0,
        rated_capacity_n=2000.0,
        budget=[Uncertainty(source="scatter", u_n=0.1), Uncertainty(source="weights", u_relative=1e-3)],
        lower_limit=LowerLimit(residual_sd_n=0.1, factor_n=0.24),
    )


def test_field_check():
    # By hand: u = sqrt(0.1^2 + 0.5^2 + 0.1^2) = 0.5196 N, weight 0.1 N; E_n = d / (2 * 0.5292).
    good = check_in_the_field(
        a_certificate(), applied_n=500.0, u_applied_n=0.1, reading_zero=1300.0, reading_loaded=51350.0
    )
    assert good.measured_n == pytest.approx(500.5)
    assert good.en == pytest.approx(0.5 / (2 * np.sqrt(0.1**2 + 0.5005**2 + 0.1**2 + 0.1**2)), rel=1e-6)
    assert good.agrees
    bad = check_in_the_field(
        a_certificate(), applied_n=500.0, u_applied_n=0.1, reading_zero=1300.0, reading_loaded=51500.0
    )
    assert not bad.agrees
    assert bad.en > 1.0
    with pytest.raises(InputError, match="rated capacity"):
        check_in_the_field(
            a_certificate(), applied_n=2500.0, u_applied_n=0.1, reading_zero=0.0, reading_loaded=1.0
        )

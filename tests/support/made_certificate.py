"""A certificate of an invented load cell, made without a calibration."""

from __future__ import annotations

import datetime as dt

from feltload.acquisition import ClassResult, DegreeTest, ForceCertificate, LowerLimit, Uncertainty
from feltload.calibration import ForceCertificateFact, ForceSource
from feltload.core import CommonFact, Fact


def made_certificate() -> ForceCertificate:
    """With something to say in every part of its page."""
    lacking = [Fact(ForceCertificateFact.FEW_SERIES, figures={"count": 2, "needed": 3})]
    return ForceCertificate(
        serial="T-1",
        calibrated_on=dt.date(2026, 3, 2),
        expires_on=dt.date(2027, 3, 2),
        gravity_m_s2=9.81,
        gravity_u_m_s2=3e-4,
        warnings=[Fact(ForceCertificateFact.LATITUDE_NOT_STATED)],
        notes=[Fact(CommonFact.SAID, figures={"text": "invented"})],
        reading_unit="counts",
        zero_reading=1000.0,
        reading_scale=100000.0,
        coefficients_n=[0.0, 1000.0],
        covariance_n2=[[0.0, 0.0], [0.0, 0.0]],
        lowest_n=100.0,
        highest_n=1000.0,
        budget=[Uncertainty(source=ForceSource.SCATTER, u_n=0.1)],
        degree_test=DegreeTest(loads=10),
        lower_limit=LowerLimit(residual_sd_n=0.1, factor_n=0.24),
        classes=[ClassResult(standard="ISO 376", class_name="1", from_n=100.0, to_n=1000.0, missing=lacking)],
    )

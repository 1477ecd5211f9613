"""A person who asked for kgf or lbf reads no other unit as the first one, on whatever page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextvars import copy_context

import numpy as np
import pytest

from feltload.acquisition import ForceCertificate, LowerLimit, Uncertainty
from feltload.app.pages.certificate.page import certificate_page
from feltload.app.pages.client.page import render_sheet
from feltload.app.pages.client.view import build_sheet
from feltload.app.pages.report.rows import budget_rows
from feltload.app.text.calibration import SENTENCES
from feltload.app.text.numbers import ForceUnit, exact_force, found_load, hand_force, write_forces_in
from feltload.app.text.person.hands import hand_text
from feltload.calibration import FieldCheckFact, ForceSource
from feltload.coaching import LoadLine, match_capacity, plan_help
from feltload.core import Fact
from feltload.signal import BudgetItem, BudgetSource
from lever_profile import lever_profile
from made_capacity import made_capacity

KGF, LBF = ForceUnit.KILOGRAM_FORCE, ForceUnit.POUND_FORCE
# 9.80665 N exactly (3rd CGPM, 1901); 4.4482216152605 N exactly (NIST SP 811, B.8).
KGF_N, LBF_N = 9.80665, 4.4482216152605


def written_in(unit: ForceUnit, write: Callable[[], str]) -> str:
    def run() -> str:
        write_forces_in(unit)
        return write()

    return copy_context().run(run)


@pytest.mark.parametrize(
    ("write", "kgf", "lbf"),
    [
        (lambda: hand_text(50.0), "5 kgf (50 N)", "11 lbf (50 N)"),
        (lambda: hand_force(13.4), "1.4 kgf", "3.0 lbf"),
        (lambda: exact_force(100 * LBF_N), "45.359 kgf", "100.000 lbf"),
        # 1 lb is 0.45359237 kg exactly; a computed load is never rounded up.
        (lambda: found_load(35.99), "35.9 kg", "79.3 lb"),
        (
            lambda: SENTENCES[FieldCheckFact.OUT_OF_RANGE](
                Fact(FieldCheckFact.OUT_OF_RANGE, figures={"applied_n": 100 * KGF_N, "highest_n": 50 * KGF_N})
            ),
            "100.0 kgf is outside the calibrated range, up to 50.0 kgf",
            "220.5 lbf is outside the calibrated range, up to 110.2 lbf",
        ),
    ],
)
def test_words_take_the_unit(write: Callable[[], str], kgf: str, lbf: str) -> None:
    assert kgf in written_in(KGF, write)
    assert lbf in written_in(LBF, write)


def test_the_budget_takes_the_unit() -> None:
    item = BudgetItem(BudgetSource.FORCE_ZERO, np.full((1, 3), 0.1 * KGF_N))
    assert written_in(KGF, lambda: budget_rows([item])[0].u) == "0.100"


def test_a_certificates_page_takes_the_unit_in_tables_figure_and_sentences() -> None:
    certificate = ForceCertificate(
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
        lowest_n=10.0 * KGF_N,
        highest_n=100.0 * KGF_N,
        budget=[Uncertainty(source=ForceSource.SCATTER, u_n=0.1)],
        lower_limit=LowerLimit(residual_sd_n=0.1, factor_n=0.24),
    )
    page = written_in(KGF, lambda: certificate_page(certificate))
    assert "From 10.0 kgf to 100.0 kgf" in page
    assert "Applied force, kgf" in page and "Certificate − applied, kgf" in page
    assert ", N<" not in page and " N to " not in page


def test_a_clients_sheet_takes_the_unit_in_figures_plan_and_bands() -> None:
    profile = lever_profile()
    line, capacity = LoadLine.of(profile), made_capacity()

    def page() -> str:
        match, plan = match_capacity(line, capacity, 40.0), plan_help(line, capacity, 40.0, 0.7)
        return render_sheet(build_sheet(profile, line, capacity, match, plan))

    text = written_in(LBF, page)
    assert "force at the handle, lbf" in text
    assert "raising, lbf" in text and "lowering, lbf" in text
    # The plan's bands.
    assert "±\u00a0" in text and "lbf)" in text
    # No force leads in N: where it stands, it stands in brackets.
    assert not [word for word in text.split() if word.endswith("\u00a0N") and "(" not in word]
    assert "N)" in text


def test_positions_on_a_sheets_axes_are_quarters_of_the_travel() -> None:
    profile = lever_profile()
    line, capacity = LoadLine.of(profile), made_capacity()
    match, plan = match_capacity(line, capacity, 40.0), plan_help(line, capacity, 40.0, 0.7)
    text = render_sheet(build_sheet(profile, line, capacity, match, plan))
    for share, angle in zip((0, 25, 50, 75, 100), np.linspace(-25.0, 45.0, 5), strict=True):
        assert f"{share} %" in text
        # A half is rounded either way.
        assert any(f"{near:.0f}°".replace("-", "−") in text for near in (np.floor(angle), np.ceil(angle)))

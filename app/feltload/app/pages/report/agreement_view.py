"""Agreement of measurement and machine file, in the report's words and figure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feltload.app.pages.report.agreement_figure import agreement_figure
from feltload.app.pages.report.curves import LoadCurves, load_curves
from feltload.app.pages.report.view import FittedRow, Tone, Verdict
from feltload.app.text.machine.agreement import agreement_text, describe_score, swing_text
from feltload.app.text.numbers import number, number_with_u
from feltload.calibration import Agreement, AgreementVerdict, FittedDimension, SwingCheck, unit_symbol
from feltload.core import Floats
from feltload.signal import ProfileEstimate

MOVED_BY = 2.0
"""A fitted dimension further from its survey than this many standard uncertainties is set in bold."""

_WORDS = {
    AgreementVerdict.AGREES: ("Agrees with the machine file", Tone.GOOD),
    AgreementVerdict.DIFFERS: ("Differs from the machine file", Tone.BAD),
    AgreementVerdict.INCONCLUSIVE: ("Too uncertain to decide", Tone.CAREFUL),
}


def verdict_view(estimate: ProfileEstimate, agreement: Agreement, swing: SwingCheck | None = None) -> Verdict:
    """Put an agreement into words and a figure, with the free swing of the arm beside it."""
    word, tone = _WORDS[agreement.verdict]
    curves = [
        _with_model(curve, float(load), estimate, agreement)
        for curve, load in zip(load_curves(estimate), estimate.loads_kg, strict=True)
    ]
    return Verdict(
        word=word,
        tone=tone,
        explanation=agreement_text(agreement),
        score=describe_score(agreement),
        swing=None if swing is None else swing_text(swing),
        figure=agreement_figure(estimate.travel, curves, en_limit=agreement.en_limit, score=agreement.score),
        fitted=tuple(_fitted_row(dimension) for dimension in agreement.fitted),
    )


def _with_model(
    curve: LoadCurves, load_kg: float, estimate: ProfileEstimate, agreement: Agreement
) -> LoadCurves:
    """The agreement's curves of one load, on the estimate's angles (NaN where it was not compared)."""
    of_load = agreement.load_kg == load_kg
    angle_deg = np.degrees(estimate.angle_rad)

    def at(values: Floats) -> Floats:
        return np.asarray(
            np.interp(angle_deg, agreement.angles_deg[of_load], values[of_load], left=np.nan, right=np.nan)
        )

    return replace(
        curve, model_n=at(agreement.model_n), model_u95_n=at(agreement.model_u95_n), en=at(agreement.en)
    )


def _fitted_row(dimension: FittedDimension) -> FittedRow:
    surveyed, unit = dimension.surveyed, unit_symbol(dimension.surveyed.unit)
    name = f"{surveyed.key.part}: {surveyed.key.dimension}" if surveyed.key.part else surveyed.key.dimension
    name = name.replace("_", " ")
    return FittedRow(
        name=f"{name}, {unit}" if unit else name,
        surveyed=number_with_u(surveyed.value / surveyed.per_unit, surveyed.u / surveyed.per_unit),
        fitted=number_with_u(dimension.value / surveyed.per_unit, dimension.u / surveyed.per_unit),
        shift=number(dimension.shift_in_u, "+.1f" if round(dimension.shift_in_u, 1) else ".1f"),
        moved=abs(dimension.shift_in_u) > MOVED_BY,
    )

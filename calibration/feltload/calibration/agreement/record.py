"""agreement.json: what programs read of an agreement.

Arrays run over the loads, angles ascending in each. ``en`` follows from the columns beside it:
``(measured_n - model_n) / sqrt(measured_expanded_u_n² + model_expanded_u_n²)``, expanded uncertainties with the
``coverage_factor`` k = 2. Columns ``..._u95_n`` are half-widths of 95 % bands, 1.96 standard uncertainties. Positions
are named as in profile.csv; all else is in the unit of its name.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

import numpy as np

from feltload.calibration.agreement.explanation import CauseSet, CurvePoint
from feltload.calibration.agreement.joint.unseen import Unseen
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.agreement.survey_fit import FittedDimension
from feltload.calibration.agreement.swing import SwingCheck
from feltload.calibration.machine.parameters import unit_symbol
from feltload.core import EXPANDED_COVERAGE_K, Floats, write_file
from feltload.signal import Travel


def write_agreement(directory: Path | str, agreement: Agreement, swing: SwingCheck | None = None) -> Path:
    """Write ``agreement.json``, with the free swing of the arm where there is one, and return its path."""
    path = Path(directory) / "agreement.json"
    text = json.dumps(agreement_record(agreement, swing), indent=1, ensure_ascii=False)
    write_file(path, text + "\n")
    return path


def agreement_record(agreement: Agreement, swing: SwingCheck | None = None) -> dict[str, object]:
    """What ``agreement.json`` holds."""
    return {
        "verdict": str(agreement.verdict),
        "en_max": agreement.en_max,
        **{name: _rounded(at, 4) for name, at in agreement.travel.columns(agreement.angle_rad).items()},
        "measured_n": agreement.measured_n.tolist(),
        "model_n": agreement.model_n.tolist(),
        "en": agreement.en.tolist(),
        "fitted": [_fitted_record(dimension) for dimension in agreement.fitted],
        "explanation": explanation_record(agreement),
        "load_kg": _rounded(agreement.load_kg, 4),
        "measured_expanded_u_n": agreement.measured_expanded_u_n.tolist(),
        "model_expanded_u_n": agreement.model_expanded_u_n.tolist(),
        "coverage_factor": EXPANDED_COVERAGE_K,
        "model_u95_n": _rounded(agreement.model_u95_n, 4),
        "residual_n": _rounded(agreement.residual_n, 4),
        "residual_u95_n": _rounded(agreement.residual_u95_n, 4),
        "changed": [key.dotted for key in agreement.changed],
        "explained": agreement.explained,
        "score": agreement.score,
        "en_limit": agreement.en_limit,
        "p_value": agreement.test.p_value,
        "band_percent": round(agreement.band_percent, 3),
        "first_order": agreement.first_order,
        "g_m_s2": round(agreement.g_m_s2, 5),
        "g_u_m_s2": round(agreement.g_u_m_s2, 5),
        "default_uncertainty": [key.dotted for key in agreement.default_u],
        "beside": [asdict(row) for row in agreement.beside],
        "hinge_tilt": None if agreement.tilt is None else asdict(agreement.tilt),
        "start_angle_hint": None if agreement.start_hint is None else asdict(agreement.start_hint),
        "unseen": [_unseen_record(item) for item in agreement.unseen],
        "free_swing": None if swing is None else swing_record(swing),
    }


def explanation_record(agreement: Agreement) -> dict[str, object]:
    """Kind and figures of an explanation; dimensions by their names in the machine file."""
    explanation = agreement.explanation
    instead, remaining = explanation.load_instead, explanation.remaining
    return {
        "kind": str(agreement.explanation_kind),
        "largest": _point_record(agreement.largest, agreement.travel),
        "causes": [
            {
                "name": cause.key.dotted,
                "shift_si": cause.shift,
                "u_si": cause.u,
                "shift_in_u": cause.shift_in_u,
            }
            for cause in explanation.causes
        ],
        "loads": [
            {"stated_kg": load.stated_kg, "looks_like_kg": load.value_kg, "u_kg": load.u_kg}
            for load in explanation.loads
        ],
        "cause": None if explanation.best is None else _set_record(explanation.best),
        "tied_causes": [_set_record(other) for other in explanation.tied],
        "tied": [
            [*(key.dotted for key in other.dimensions), *(f"load of {kg:g} kg" for kg in other.loads_kg)]
            for other in explanation.tied
        ],
        "load_instead": None if instead is None else {"part": instead.part, "relative": instead.relative},
        "remaining": None if remaining is None else _point_record(remaining, agreement.travel),
    }


def swing_record(check: SwingCheck) -> dict[str, float | int | bool]:
    """What is kept of a free swing."""
    return {
        "agrees": check.agrees,
        "en": check.en,
        "moment_over_inertia_per_s2": check.swing.moment_over_inertia,
        "u_per_s2": check.swing.u,
        "surveyed_per_s2": check.predicted,
        "surveyed_u_per_s2": check.u_predicted,
        "amplitude_deg": round(float(np.degrees(check.swing.amplitude_rad)), 2),
        "periods": check.swing.periods,
    }


def _fitted_record(dimension: FittedDimension) -> Mapping[str, float | str]:
    """A dimension in the unit that the person wrote."""
    surveyed = dimension.surveyed
    return {
        "name": surveyed.key.dotted,
        "surveyed": surveyed.value / surveyed.per_unit,
        "surveyed_u": surveyed.u / surveyed.per_unit,
        "fitted": dimension.value / surveyed.per_unit,
        "fitted_u": dimension.u / surveyed.per_unit,
        "unit": unit_symbol(surveyed.unit),
        "shift_in_u": dimension.shift_in_u,
    }


def _set_record(causes: CauseSet) -> dict[str, object]:
    return {
        "kind": str(causes.kind),
        "dimensions": [
            {"name": m.surveyed.key.dotted, "surveyed_si": m.surveyed.value, "value_si": m.value}
            for m in causes.moved
        ],
        "loads": [
            {"stated_kg": stated, "looks_like_kg": kg}
            for stated, kg in zip(causes.loads_kg, causes.looks_like_kg, strict=True)
        ]
        if causes.looks_like_kg
        else [],
        "cell_gain": causes.gain,
    }


def _unseen_record(item: Unseen) -> dict[str, object]:
    """How wrong a dimension could be without being found; null where no shift is ever found."""
    return {
        "name": item.key.dotted,
        "found_from_si": item.found_from if math.isfinite(item.found_from) else None,
        "plausible": not item.hidden,
        "addition": None if item.addition is None else str(item.addition),
        "found_from_then_si": None if item.addition is None else item.found_from_then,
    }


def _point_record(point: CurvePoint, travel: Travel) -> dict[str, float]:
    return {
        "load_kg": point.load_kg,
        **travel.record(point.angle_rad),
        "difference_n": point.difference_n,
    }


def _rounded(values: Floats, digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]

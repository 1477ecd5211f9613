"""What the pages of measured and predicted profiles have in common."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from feltload.app.pages.report.curves import load_curves
from feltload.app.pages.report.figures import friction_figure, profile_figure
from feltload.app.pages.report.rows import budget_rows, load_row
from feltload.app.pages.target_view import target_view
from feltload.app.text.cautions import BEFORE_BUILDING, BEFORE_USING_THE_RESULT
from feltload.app.text.machine.profile import FRICTION_BAND, PROFILE_BAND, describe_headline
from feltload.app.text.numbers import force_unit
from feltload.app.text.position import describe_positions_column
from feltload.app.text.predicted import bands
from feltload.calibration import Judgement
from feltload.signal import ProfileEstimate, describe_shape


def profile_fields(estimate: ProfileEstimate, judgements: Sequence[Judgement]) -> dict[str, Any]:
    """Fields of a `ProfileView` that do not depend on how the profile came about."""
    curves = load_curves(estimate)
    shaded = PROFILE_BAND, FRICTION_BAND
    if not estimate.measured:
        # What a file states of friction varies with the geometry alone: a bump of it is no tight spot.
        curves = [replace(curve, spots=()) for curve in curves]
        shaded = bands.PROFILE_BAND, bands.FRICTION_BAND
    shapes = [describe_shape(estimate, index) for index in range(estimate.loads_kg.size)]
    return {
        "machine": estimate.machine_name,
        "force_unit": str(force_unit()),
        "headline": describe_headline(shapes[int(np.argmax(estimate.loads_kg))], estimate.travel),
        "profile_figure": profile_figure(estimate.travel, curves, shaded=shaded[0]),
        "loads": tuple(load_row(shape, estimate.travel) for shape in shapes),
        "positions": describe_positions_column(estimate.travel, measured=estimate.measured),
        "targets": target_view(estimate, judgements),
        "friction_figure": friction_figure(estimate.travel, curves, shaded=shaded[1]),
        "budget": budget_rows(estimate.budget),
        "cautions": BEFORE_USING_THE_RESULT if estimate.measured else BEFORE_BUILDING,
    }

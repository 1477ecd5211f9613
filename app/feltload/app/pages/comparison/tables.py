"""The numbers of a comparison: results in rows, positions in columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.pages.behind import STEPS, read_at
from feltload.app.pages.canvas import FigureTable
from feltload.app.text.numbers import MISSING, number

if TYPE_CHECKING:
    from feltload.app.pages.comparison.drawn import ComparedCurve, DifferenceCurve
    from feltload.app.pages.comparison.quantity import Quantity


def curves_table(
    label: str,
    curves: Sequence[ComparedCurve],
    differences: Sequence[DifferenceCurve],
    *,
    first: str,
    quantity: Quantity,
) -> FigureTable:
    """Curves, and differences below them, at ten equal steps of the axis."""
    every = np.concatenate([curve.x for curve in curves])
    places = np.linspace(float(every.min()), float(every.max()), STEPS)
    rows = [(curve.label, curve) for curve in curves]
    rows += [(f"{gap.label} − {first}", gap) for gap in differences]  # type: ignore[misc]
    return FigureTable(
        heads=(f"{quantity.unit} at: {label}", *(number(float(place), ".1f") for place in places)),
        rows=tuple(
            (
                name,
                *(
                    MISSING if np.isnan(value) else f"{quantity.figure(value)} ± {quantity.figure(band)}"
                    for value, band in zip(
                        read_at(places, curve.x, curve.values).tolist(),
                        read_at(places, curve.x, curve.u95).tolist(),
                        strict=True,
                    )
                ),
            )
            for name, curve in rows
        ),
    )

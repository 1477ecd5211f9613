"""What a figure shows for those who do not see it: its curves in words, and the table behind it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.pages.canvas import FigureTable
from feltload.app.text.numbers import MISSING, force_figure, force_unit, short_force
from feltload.app.text.position import short_position
from feltload.core import Floats
from feltload.signal import Travel

STEPS = 11
"""Rows of a table behind a figure: both ends of the axis and each tenth between."""

Column = tuple[str, Floats, Floats]
"""A head, where its values are, and the values in newtons, each (n,)."""


def curve_words(travel: Travel, angle_rad: Floats, force_n: Floats) -> str:
    """A curve by its start, its largest value and its end, where it is known."""
    known = np.isfinite(force_n)
    force, at = force_n[known], angle_rad[known]
    if not force.size:
        return "not known"
    top = int(np.argmax(force))
    return (
        f"from {short_force(float(force[0]))} at the start to {short_force(float(force[top]))} at "
        f"{short_position(float(at[top]), travel)} and {short_force(float(force[-1]))} at the end"
    )


def table_along(travel: Travel, columns: Sequence[Column]) -> FigureTable:
    """Curves over lever angles at each tenth of the travel."""
    places = [travel.at_share(share) for share in np.linspace(0.0, 1.0, STEPS)]
    shares = np.linspace(0.0, 100.0, STEPS)
    at_shares = [(head, 100.0 * travel.shares(angle_rad), values) for head, angle_rad, values in columns]
    return _table("Position", [short_position(place, travel) for place in places], shares, at_shares)


def _table(label: str, names: Sequence[str], places: Floats, columns: Sequence[Column]) -> FigureTable:
    values = [read_at(places, x, y) for _, x, y in columns]
    return FigureTable(
        heads=(label, *(f"{head}, {force_unit()}" for head, _, _ in columns)),
        rows=tuple((name, *(_cell(column[row]) for column in values)) for row, name in enumerate(names)),
    )


def read_at(places: Floats, x: Floats, y: Floats) -> Floats:
    """A curve (x, y) at places; NaN where it does not reach."""
    known = np.isfinite(y)
    if not known.any():
        return np.full(places.shape, np.nan)
    # Ends of the axis and of the curve are the same place but for rounding.
    slack = 1e-6 * float(np.ptp(places))
    inside = np.clip(places, x[known][0], x[known][-1])
    read = np.interp(inside, x[known], y[known])
    return np.where(np.abs(inside - places) <= slack, read, np.nan)


def _cell(force_n: float) -> str:
    return MISSING if np.isnan(force_n) else force_figure(float(force_n))

"""Curves of a comparison for its figures: one of force for each load, and one of friction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.app.jobs.comparing.comparison import Comparison
from feltload.app.jobs.comparing.results import Result
from feltload.app.pages.axes import along_travel
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.comparison.drawn import ComparedCurve, DifferenceCurve
from feltload.app.pages.comparison.figures import comparison_figure
from feltload.app.pages.comparison.quantity import Quantity, force_quantity, friction_quantity
from feltload.app.text.numbers import load_text
from feltload.coaching import CurveDifference, UncertainCurve, friction_curve, static_curve
from feltload.core import Floats


@dataclass(frozen=True)
class _Drawn:
    """A curve of each result that has it, with the difference of each of the others, at one load."""

    lead: str
    curves: Sequence[tuple[Result, UncertainCurve, str]]
    differences: Sequence[tuple[str, CurveDifference]]


def drawings(comparison: Comparison) -> tuple[Drawing, ...]:
    """Figures of force and, where two results know it, of friction, load by load."""
    force, friction = force_quantity(comparison.scaled_by), friction_quantity()
    return tuple(
        _draw(comparison, drawn, quantity)
        for load_kg in comparison.loads_kg or (None,)
        for quantity, drawn in (
            (force, _forces(comparison, load_kg)),
            (friction, _frictions(comparison, load_kg)),
        )
        if len(drawn.curves) > 1
    )


def _forces(comparison: Comparison, load_kg: float | None) -> _Drawn:
    curves = []
    for result, index, label in _loads(comparison, load_kg):
        curve = static_curve(result.estimate, index)
        scaled_by = comparison.scaled_by
        curves.append((result, curve if scaled_by is None else curve.scaled(scaled_by), label))
    differences = [
        (pair.name, at.force)
        for pair in comparison.pairs
        for at in pair.loads
        if load_kg is None or at.load_kg == load_kg
    ]
    return _Drawn(_lead(load_kg), curves, differences)


def _frictions(comparison: Comparison, load_kg: float | None) -> _Drawn:
    found = [
        (result, friction_curve(result.estimate, index), label)
        for result, index, label in _loads(comparison, load_kg)
    ]
    differences = [
        (pair.name, at.friction)
        for pair in comparison.pairs
        for at in pair.loads
        if at.friction is not None and at.load_kg == load_kg
    ]
    curves = [(result, curve, label) for result, curve, label in found if curve is not None]
    return _Drawn(
        _lead(load_kg), curves if curves and curves[0][0] is comparison.results[0] else [], differences
    )


def _loads(comparison: Comparison, load_kg: float | None) -> list[tuple[Result, int, str]]:
    """Each result with the index of the load and its label; the heaviest of each where none is in common."""
    found = []
    for result in comparison.results:
        index = result.heaviest if load_kg is None else result.load_index(load_kg)
        if index is not None:
            load = load_text(float(result.estimate.loads_kg[index]))
            found.append((result, index, result.name if load_kg is not None else f"{result.name}, {load}"))
    return found


def _lead(load_kg: float | None) -> str:
    return "Each with its heaviest load" if load_kg is None else f"With {load_text(load_kg)}"


def _draw(comparison: Comparison, drawn: _Drawn, quantity: Quantity) -> Drawing:
    first = comparison.results[0]
    labels = {result.name: label for result, _, label in drawn.curves}
    times = 1.0 if quantity.in_newtons else 100.0
    return comparison_figure(
        [
            ComparedCurve(
                label, _position(comparison, result, curve.angle_rad), times * curve.values, times * curve.u95
            )
            for result, curve, label in drawn.curves
        ],
        [
            # The other minus the first: above zero it has more.
            DifferenceCurve(
                labels[name],
                _position(comparison, first, gap.angle_rad),
                -times * gap.values,
                times * gap.curve_u95,
            )
            for name, gap in drawn.differences
        ],
        quantity=quantity,
        first=first.name,
        lead=drawn.lead,
        by=comparison.by,
    )


def _position(comparison: Comparison, result: Result, angle_rad: Floats) -> Floats:
    travel = result.estimate.travel
    ways = travel.ways_m(angle_rad)
    if comparison.by == "handle" and ways is not None:
        return 100.0 * ways
    return np.degrees(angle_rad) if comparison.by == "angle" else along_travel(angle_rad, travel)

"""What the page of a comparison says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.jobs.comparing.common_positions import places
from feltload.app.jobs.comparing.comparison import Comparison, Result, difference_record
from feltload.app.pages.axes import along_travel
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.comparison.figures import ComparedCurve, DifferenceCurve, comparison_figure
from feltload.app.pages.report.rows import input_rows
from feltload.app.pages.report.view import InputRow
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.machine.comparison import describe_assumed, describe_comparison
from feltload.app.text.machine.friction import friction_cell
from feltload.app.text.numbers import NO_BREAK, force_text, listed, load_text
from feltload.app.text.position import short_position
from feltload.core import Floats
from feltload.signal import describe_shape, mean_friction_n, tight_spots

MOST_NAMED = 6
"""Results that a heading names."""


@dataclass(frozen=True)
class ComparedRow:
    """One result at one load, in a line of the table."""

    number: int
    name: str
    load: str
    heaviest: str
    drop_off: str
    shape: str
    friction: str


@dataclass(frozen=True)
class ComparisonView:
    """The whole page, top to bottom."""

    title: str
    invented: bool
    sentences: tuple[str, ...]
    figures: tuple[Drawing, ...]
    rows: tuple[ComparedRow, ...]
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]
    inputs: tuple[InputRow, ...]


def build_comparison(comparison: Comparison) -> ComparisonView:
    """Put a comparison into words and figures."""
    loads: tuple[float | None, ...] = comparison.loads_kg or (None,)
    return ComparisonView(
        title=_title(comparison),
        invented=any(result.provenance.invented for result in comparison.results),
        sentences=tuple(describe_comparison(comparison)),
        figures=tuple(_figure(comparison, load) for load in loads),
        rows=tuple(
            _row(number, result, index)
            for number, result in enumerate(comparison.results, start=1)
            for index in range(result.estimate.loads_kg.size)
            if not comparison.loads_kg or _shown(result, index, comparison.loads_kg)
        ),
        assumed=tuple(
            describe_assumed(pair, comparison.results[0].name)
            for pair in comparison.pairs
            if pair.difference is not None
        ),
        cautions=BEFORE_USING_THE_RESULT,
        inputs=tuple(
            row
            for result in comparison.results
            for row in input_rows(result.provenance, prefix=f"{result.name}: ")
        ),
    )


def comparison_record(comparison: Comparison, view: ComparisonView) -> dict[str, object]:
    """The comparison for programs."""
    by = None if comparison.same_machine else comparison.by
    return {
        "by": comparison.by,
        "profiles": [
            {
                "name": result.name,
                "machine": result.estimate.machine_name,
                "load_kg": shape.load_kg,
                "shape": shape.shape,
                "peak": {**result.estimate.travel.record(shape.peak_angle_rad), "force_n": shape.peak_n},
                "drop_off_percent": shape.drop_off_percent,
                "friction_n": None if np.isnan(friction_n) else friction_n,
                "tight_spots": [
                    {**result.estimate.travel.record(spot.angle_rad), "friction_n": spot.friction_n}
                    for spot in tight_spots(result.estimate, index)
                ],
            }
            for result in comparison.results
            for index in range(result.estimate.loads_kg.size)
            for shape in (describe_shape(result.estimate, index),)
            for friction_n, _ in (mean_friction_n(result.estimate, index),)
            if not comparison.loads_kg or _shown(result, index, comparison.loads_kg)
        ],
        "differences": [
            {
                "first": comparison.results[0].name,
                "second": pair.name,
                **at,
                "loads": [
                    difference_record(pair.difference, k, at) for k in range(pair.difference.loads_kg.size)
                ],
                "friction": [
                    {
                        "load_kg": gap.load_kg,
                        "difference_n": gap.difference_n,
                        "u95_n": gap.u95_n,
                        "differs": gap.established,
                    }
                    for gap in pair.friction
                ],
                "assumed": [fact.to_dict() for fact in pair.assumed],
            }
            for pair in comparison.pairs
            if pair.difference is not None
            for at in (places(pair.difference, comparison.results[0].estimate.travel, by),)
        ],
        "repeatability": [
            {
                "load_kg": repeat.load_kg,
                "measurements": repeat.measurements,
                "sd_n": repeat.repeatability.sem,
                "minimal_difference_n": repeat.repeatability.minimal_difference,
            }
            for repeat in comparison.repeats
        ],
        "sentences": list(view.sentences),
    }


def _title(comparison: Comparison) -> str:
    """Their names, led by the machine's where all are of one; the first and how many more where there are many."""
    names = [result.name for result in comparison.results]
    shown = listed(names) if len(names) <= MOST_NAMED else f"{names[0]} and {len(names) - 1} others"
    machines = {result.estimate.machine_name for result in comparison.results}
    return f"{machines.pop()}: {shown}" if len(machines) == 1 else shown


def _shown(result: Result, index: int, loads_kg: tuple[float, ...]) -> bool:
    return any(result.load_index(load) == index for load in loads_kg)


def _row(number: int, result: Result, index: int) -> ComparedRow:
    shape = describe_shape(result.estimate, index)
    return ComparedRow(
        number=number,
        name=result.name,
        load=load_text(shape.load_kg),
        heaviest=f"{force_text(shape.peak_n)} at {short_position(shape.peak_angle_rad, result.estimate.travel)}",
        drop_off=f"{shape.drop_off_percent:.0f}{NO_BREAK}%",
        shape=shape.shape.replace("-", "–"),
        friction=friction_cell(result.estimate, index),
    )


def _figure(comparison: Comparison, load_kg: float | None) -> Drawing:
    """All results at one load; at the heaviest of each where they have none in common."""
    curves = []
    for result in comparison.results:
        index = (
            result.load_index(load_kg) if load_kg is not None else int(np.argmax(result.estimate.loads_kg))
        )
        if index is None:
            continue
        load = load_text(float(result.estimate.loads_kg[index]))
        curves.append(
            ComparedCurve(
                label=result.name if load_kg is not None else f"{result.name}, {load}",
                x=_position(comparison, result, result.estimate.angle_rad),
                force_n=result.estimate.static_n[index],
                u95_n=result.estimate.static_u95_n[index],
            )
        )
    differences = [
        DifferenceCurve(
            label=pair.name,
            x=_position(comparison, comparison.results[0], pair.difference.angle_rad),
            # The other minus the first: above zero it is the heavier result.
            difference_n=-pair.difference.difference_n[k],
            u95_n=pair.difference.curve_u95_n[k],
        )
        for pair in comparison.pairs
        if pair.difference is not None
        for k in range(pair.difference.loads_kg.size)
        if pair.difference.loads_kg[k] == load_kg
    ]
    return comparison_figure(
        curves, differences, first=comparison.results[0].name, load_kg=load_kg, by=comparison.by
    )


def _position(comparison: Comparison, result: Result, angle_rad: Floats) -> Floats:
    travel = result.estimate.travel
    ways = travel.ways_m(angle_rad)
    if comparison.by == "handle" and ways is not None:
        return 100.0 * ways
    return np.degrees(angle_rad) if comparison.by == "angle" else along_travel(angle_rad, travel)

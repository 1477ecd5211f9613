"""What the page of a comparison says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.jobs.comparison import Comparison, Result
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.comparison.figures import ComparedCurve, DifferenceCurve, comparison_figure
from feltload.app.pages.report.rows import input_rows
from feltload.app.pages.report.view import InputRow
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.difference_words import difference_record, difference_words
from feltload.app.text.numbers import NO_BREAK, force_text, listed, load_text, plain_degrees
from feltload.core import Floats
from feltload.signal import describe_shape


@dataclass(frozen=True)
class ComparedRow:
    """One result at one load, in a line of the table."""

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


def build_comparison(found: Comparison) -> ComparisonView:
    """Put a comparison into words and figures."""
    loads: tuple[float | None, ...] = found.loads_kg or (None,)
    return ComparisonView(
        title=listed([one.name for one in found.results]),
        invented=any(one.provenance.invented for one in found.results),
        sentences=_sentences(found),
        figures=tuple(_figure(found, load) for load in loads),
        rows=tuple(
            _row(one, index)
            for one in found.results
            for index in range(one.estimate.loads_kg.size)
            if not found.loads_kg or _shown(one, index, found.loads_kg)
        ),
        assumed=tuple(
            f"{found.results[0].name} and {pair.name}: {'; '.join(pair.assumed)}."
            for pair in found.pairs
            if pair.difference is not None
        ),
        cautions=BEFORE_USING_THE_RESULT,
        inputs=tuple(
            row for one in found.results for row in input_rows(one.provenance, prefix=f"{one.name}: ")
        ),
    )


def comparison_record(found: Comparison, view: ComparisonView) -> dict[str, object]:
    """The comparison for programs."""
    return {
        "by": found.by,
        "profiles": [
            {
                "name": one.name,
                "machine": one.estimate.machine_name,
                "load_kg": shape.load_kg,
                "shape": shape.shape,
                "peak": {"angle_deg": shape.peak_angle_deg, "force_n": shape.peak_n},
                "drop_off_percent": shape.drop_off_percent,
                "friction_n": float(np.nanmean(one.estimate.friction_n[index])),
            }
            for one in found.results
            for index in range(one.estimate.loads_kg.size)
            for shape in (describe_shape(one.estimate, index),)
            if not found.loads_kg or _shown(one, index, found.loads_kg)
        ],
        "differences": [
            {
                "first": found.results[0].name,
                "second": pair.name,
                "angles_deg": np.degrees(pair.difference.angle_rad).round(6).tolist(),
                "loads": [
                    difference_record(pair.difference, k) for k in range(pair.difference.loads_kg.size)
                ],
                "assumed": list(pair.assumed),
            }
            for pair in found.pairs
            if pair.difference is not None
        ],
        "repeatability": [
            {
                "load_kg": repeat.load_kg,
                "measurements": repeat.measurements,
                "sd_n": repeat.found.sem,
                "minimal_difference_n": repeat.found.minimal_difference,
            }
            for repeat in found.repeats
        ],
        "sentences": list(view.sentences),
    }


def _shown(one: Result, index: int, loads_kg: tuple[float, ...]) -> bool:
    return any(one.load_index(load) == index for load in loads_kg)


def _sentences(found: Comparison) -> tuple[str, ...]:
    first = found.results[0].name
    if not found.loads_kg:
        return ("No load was measured in all of them, so their forces are shown, but no difference is told.",)
    told = tuple(
        difference_words(
            pair.difference,
            k,
            first=first,
            second=pair.name,
            together=f"{first} and {pair.name}",
            place=found.place,
        )
        for k in range(len(found.loads_kg))
        for pair in found.pairs
        if pair.difference is not None
    )
    return told + tuple(repeat.words() for repeat in found.repeats)


def _row(one: Result, index: int) -> ComparedRow:
    shape = describe_shape(one.estimate, index)
    return ComparedRow(
        name=one.name,
        load=load_text(shape.load_kg),
        heaviest=f"{force_text(shape.peak_n)} at {plain_degrees(shape.peak_angle_deg)}",
        drop_off=f"{shape.drop_off_percent:.0f}{NO_BREAK}%",
        shape=shape.shape.replace("-", "–"),
        friction=force_text(float(np.nanmean(one.estimate.friction_n[index]))),
    )


def _figure(found: Comparison, load_kg: float | None) -> Drawing:
    """All results at one load; at the heaviest of each where they have none in common."""
    curves = []
    for one in found.results:
        index = one.load_index(load_kg) if load_kg is not None else int(np.argmax(one.estimate.loads_kg))
        if index is None:
            continue
        load = load_text(float(one.estimate.loads_kg[index]))
        curves.append(
            ComparedCurve(
                label=one.name if load_kg is not None else f"{one.name}, {load}",
                x=_position(found, one, one.estimate.angle_rad),
                force_n=one.estimate.static_n[index],
                u95_n=one.estimate.static_u95_n[index],
            )
        )
    differences = [
        DifferenceCurve(
            label=pair.name,
            x=_position(found, found.results[0], pair.difference.angle_rad),
            # The other minus the first: above zero it is the heavier one.
            difference_n=-pair.difference.difference_n[k],
            u95_n=pair.difference.curve_u95_n[k],
        )
        for pair in found.pairs
        if pair.difference is not None
        for k in range(pair.difference.loads_kg.size)
        if pair.difference.loads_kg[k] == load_kg
    ]
    return comparison_figure(curves, differences, first=found.results[0].name, load_kg=load_kg, by=found.by)


def _position(found: Comparison, one: Result, angle_rad: Floats) -> Floats:
    if found.by == "angle":
        return np.asarray(np.degrees(angle_rad))
    angle = one.estimate.angle_rad
    return np.asarray(100.0 * (angle_rad - angle[0]) / (angle[-1] - angle[0]))

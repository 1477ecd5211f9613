"""What the page of a comparison says."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.app.jobs.comparing.comparison import Comparison
from feltload.app.jobs.comparing.results import Result
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.comparison.curves import drawings
from feltload.app.pages.report.rows import input_rows
from feltload.app.pages.report.view import InputRow
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.machine.compared_rows import GapRow, gap_rows
from feltload.app.text.machine.comparison import (
    MOST_DESCRIBED,
    describe_assumed,
    describe_comparison,
    describe_together,
)
from feltload.app.text.machine.friction import friction_cell
from feltload.app.text.numbers import NO_BREAK, force_text, listed, load_text
from feltload.app.text.position import short_position
from feltload.signal import describe_shape


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
    first: str
    invented: bool
    sentences: tuple[str, ...]
    figures: tuple[Drawing, ...]
    many: bool
    rows: tuple[ComparedRow, ...]
    gaps: tuple[GapRow, ...]
    assumed: tuple[str, ...]
    together: str
    cautions: tuple[str, ...]
    inputs: tuple[InputRow, ...]


def build_comparison(comparison: Comparison) -> ComparisonView:
    """Put a comparison into words and figures."""
    return ComparisonView(
        title=_title(comparison),
        first=comparison.results[0].name,
        invented=any(result.provenance.invented for result in comparison.results),
        sentences=tuple(describe_comparison(comparison)),
        figures=drawings(comparison),
        many=len(comparison.results) > MOST_DESCRIBED,
        rows=tuple(
            _row(number, result, index)
            for number, result in enumerate(comparison.results, start=1)
            for index in comparison.shown(result)
        ),
        gaps=gap_rows(comparison) if len(comparison.pairs) > 1 else (),
        assumed=tuple(describe_assumed(comparison)),
        together=describe_together(comparison),
        cautions=BEFORE_USING_THE_RESULT,
        inputs=tuple(
            row
            for result in comparison.results
            for row in input_rows(result.provenance, prefix=f"{result.name}: ")
        ),
    )


def _title(comparison: Comparison) -> str:
    """Their names, led by the machine's where all are of one; the first and how many more where there are many."""
    names = [result.name for result in comparison.results]
    shown = listed(names) if len(names) <= MOST_DESCRIBED else f"{names[0]} and {len(names) - 1} others"
    machines = {result.estimate.machine_name for result in comparison.results}
    return f"{machines.pop()}: {shown}" if len(machines) == 1 else shown


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

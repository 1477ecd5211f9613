"""Side view of a machine on a page, with what matters marked on the handle's path."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from feltload.app.pages.canvas import Drawing, Sheet, draw
from feltload.app.text.numbers import listed, load_text
from feltload.app.text.position import describe_position, describe_span
from feltload.calibration import HandleMark, Machine, side_view
from feltload.signal import ProfileEstimate


def marked_drawing(
    estimate: ProfileEstimate,
    machine: Machine,
    marks: Sequence[HandleMark],
    *,
    load_kg: float,
    height_factor: float = 1.0,
) -> Drawing:
    """Draw the surveyed machine through the travel that was measured, with marks on the handle's path."""
    travel_rad = float(estimate.angle_rad[-1] - estimate.start_angle_rad)

    def plot(figure: Figure, sheet: Sheet) -> None:
        side_view(
            figure.subplots(),
            machine,
            travel_rad=travel_rad,
            load_kg=load_kg,
            load_label=load_text(load_kg),
            marks=marks,
        )

    return draw(
        "machine",
        f"Side view of the machine on its start stop, loaded with {load_text(load_kg)}, and through its travel."
        f"{_marks_in_words(estimate, marks)}",
        "The machine from the side as the machine file has it: dark on the start stop, faint through the "
        "travel; arrows point the way up. "
        + (
            f"On the handle's path: {listed(list(dict.fromkeys(mark.label for mark in marks)))}."
            if marks
            else ""
        ),
        plot,
        height_factor=height_factor,
    )


def _marks_in_words(estimate: ProfileEstimate, marks: Sequence[HandleMark]) -> str:
    """Where each mark is, for whoever does not see it."""
    start_rad, travel = estimate.start_angle_rad, estimate.travel
    told = [
        f"{mark.label} at {describe_position(start_rad + mark.from_rad, travel)}"
        if mark.to_rad is None
        else f"{mark.label} from {describe_span((start_rad + mark.from_rad, start_rad + mark.to_rad), travel)}"
        for mark in marks
    ]
    return f" On the handle's path: {'; '.join(told)}." if told else ""

"""Side view of a machine on a page, with what matters marked on the handle's path."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from feltload.app.pages.canvas import Drawing, Sheet, draw
from feltload.app.text.numbers import listed, load_text
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
        f"Side view of the machine on its start stop, loaded with {load_text(load_kg)}, and through its travel.",
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

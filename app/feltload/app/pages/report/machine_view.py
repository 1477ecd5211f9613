"""Side view of the machine in the report."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from feltload.app.pages.canvas import Drawing, Sheet, draw
from feltload.app.text.numbers import load_text
from feltload.calibration import Machine, side_view
from feltload.signal import ProfileEstimate


def machine_drawing(estimate: ProfileEstimate, machine: Machine) -> Drawing:
    """Draw the surveyed machine through the travel that was measured, with its heaviest load."""
    travel_rad = float(estimate.angle_rad[-1] - estimate.start_angle_rad)
    load_kg = float(np.max(estimate.loads_kg))

    def plot(figure: Figure, sheet: Sheet) -> None:
        side_view(figure.subplots(), machine, travel_rad=travel_rad, load_kg=load_kg)

    return draw(
        "machine",
        f"Side view of the machine on its start stop, loaded with {load_text(load_kg)}, and through its travel.",
        "The machine from the side as the machine file has it: dark on the start stop, faint through the "
        "travel; arrows point the way up.",
        plot,
    )

"""Side view of the machine in the report."""

from __future__ import annotations

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.side_view import marked_drawing
from feltload.calibration import HandleMark, Machine
from feltload.signal import ProfileEstimate, describe_shape


def machine_drawing(estimate: ProfileEstimate, machine: Machine) -> Drawing:
    """Draw the surveyed machine through the travel that was measured, with its heaviest load, marked where it is."""
    shape = describe_shape(estimate, int(np.argmax(estimate.loads_kg)))
    heaviest = HandleMark("heaviest", shape.peak_angle_rad - estimate.start_angle_rad)
    return marked_drawing(estimate, machine, [heaviest], load_kg=float(np.max(estimate.loads_kg)))

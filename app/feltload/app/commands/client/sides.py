"""``feltload client sides``: a person's left against right."""

from __future__ import annotations

from feltload.app.commands.client.arguments import CapacityFile
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def sides(left: CapacityFile, right: CapacityFile, /, *, common: CommonOptions = DEFAULTS) -> int:
    """Compare what a person can produce on the left and on the right, against what was measured.

    Example: feltload client sides capacity-left.json capacity-right.json
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_sides
    from feltload.coaching import ESTIMATE, compare_sides

    console = Console(common)
    first, second = read_sides(left, right)
    found = compare_sides(first, second)
    console.say(found.words())
    console.say(found.where_words())
    console.note(ESTIMATE)
    console.result(
        {
            "angle_deg": np.rad2deg(found.angle_rad).tolist(),
            "difference": found.difference.tolist(),
            "u95": found.u95.tolist(),
            "mean": found.mean,
            "mean_u95": found.mean_u95,
            "invented": first.invented or second.invented,
        }
    )
    return 0

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
    from feltload.app.text.person.strength import describe_sides
    from feltload.coaching import compare_capacity_sides

    console = Console(common)
    first, second = read_sides(left, right)
    difference = compare_capacity_sides(first, second)
    for sentence in describe_sides(difference):
        console.say(sentence)
    console.cautions(difference.cautions)
    console.result(
        {
            "angle_deg": np.rad2deg(difference.angle_rad).tolist(),
            "difference": difference.difference.tolist(),
            "u95": difference.u95.tolist(),
            "mean": difference.mean,
            "mean_u95": difference.mean_u95,
            "invented": first.invented or second.invented,
        }
    )
    return 0

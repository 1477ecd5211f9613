"""``feltload client positions``: where to hold, to learn what a person can produce."""

from __future__ import annotations

from feltload.app.commands.client.arguments import AngleTexts, ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def positions(
    profile: ProfileFolder,
    /,
    *,
    count: int | None = None,
    painful: AngleTexts = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Propose positions for maximal holds over the machine's measured range, with their order and rests.

    Example: feltload client positions row

    Example: feltload client positions row --count 5 --painful "40:60 deg"

    Parameters
    ----------
    count
        How many positions, 3 to 7; left out, as many as the range asks for.
    painful
        Positions marked painful, such as "40:60 deg"; none there is asked for.
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_profile, read_range_rad
    from feltload.app.text.person.positions import describe_positions
    from feltload.coaching import plan_holds

    console = Console(common)
    measured = read_profile(profile)
    ranges = [read_range_rad(text, "--painful") for text in painful or []]
    proposed = plan_holds(
        float(measured.angle_rad[0]), float(measured.angle_rad[-1]), count=count, painful=ranges
    )
    console.cautions(proposed.cautions)
    for line in describe_positions(proposed, measured.machine_name):
        console.say(line)
    console.result(
        {
            "machine": measured.machine_name,
            "angle_deg": np.rad2deg(proposed.angle_rad).round(2).tolist(),
            "travel_share": list(proposed.share),
            "left_out_deg": np.rad2deg(proposed.left_out_rad).round(2).tolist(),
            "rounds": proposed.rounds,
            "hold_s": proposed.hold_s,
            "rest_s": proposed.rest_s,
            "cautions": [str(caution) for caution in proposed.cautions],
        }
    )
    return 0

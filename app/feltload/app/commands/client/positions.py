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
    from feltload.app.text.numbers import degrees, listed
    from feltload.coaching import WARM_UP, plan_holds

    console = Console(common)
    measured = read_profile(profile)
    ranges = [read_range_rad(text, "--painful") for text in painful or []]
    proposed = plan_holds(
        float(measured.angle_rad[0]), float(measured.angle_rad[-1]), count=count, painful=ranges
    )
    console.cautions(proposed.cautions)
    console.say(f"{measured.machine_name}: hold at these angles of the handle's line, in this order:")
    for number, (angle, share) in enumerate(zip(proposed.angle_rad, proposed.share, strict=True), start=1):
        console.say(f"  {number}. {degrees(angle):>4}, {100 * share:.0f} % of the travel from its start")
    if proposed.left_out_rad:
        console.say(f"Left out as painful: {listed([degrees(a) for a in sorted(proposed.left_out_rad)])}.")
    warm_up = listed([f"{100 * share:.0f} %" for share in WARM_UP])
    console.say(
        f"First, anywhere comfortable, three efforts that feel like {warm_up} of your best. At each position fix the "
        f"arm so that it cannot move, build up over a second, hold {proposed.hold_s:.0f} s, then rest "
        f"{proposed.rest_s / 60:.0f} min; let go between holds."
    )
    console.say(
        f"Then once more backwards from {degrees(proposed.angle_rad[-1])}: the second try tells how much tries differ. "
        f"About {proposed.duration_s / 60:.0f} min in all; stop earlier when tries get clearly weaker."
    )
    console.say("Record them in one recording, and give it to: feltload client capacity")
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

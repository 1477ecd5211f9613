"""``feltload client positions``: where to hold, to learn what a person can produce."""

from __future__ import annotations

from feltload.app.commands.client.arguments import NO_PAIN, MarksFile, PainOptions, ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def positions(
    profile: ProfileFolder,
    /,
    *,
    count: int | None = None,
    capacity: MarksFile = None,
    pain: PainOptions = NO_PAIN,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Propose positions for maximal holds over the machine's measured range, with their order and rests.

    Example: feltload client positions row

    Example: feltload client positions row --count 5 --painful "40:60 deg"

    Parameters
    ----------
    count
        How many positions, 3 to 7; left out, as many as the range asks for.
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_profile
    from feltload.app.jobs.painful import KnownPain
    from feltload.app.jobs.travel import travel_record
    from feltload.app.text.person.positions import describe_positions
    from feltload.coaching import plan_holds, working_travel

    console = Console(common)
    measured = read_profile(profile)
    console.doubts(measured)
    along = measured.travel
    ranges = KnownPain.read(pain.painful, pain.client).with_capacity(capacity, measured)
    ends = float(measured.angle_rad[0]), float(measured.angle_rad[-1])
    proposed = plan_holds(*ends, count=count, painful=ranges)
    travel = working_travel(ends, painful_rad=ranges, along=along)
    console.cautions((*travel.cautions, *proposed.cautions))
    for line in describe_positions(proposed, measured.machine_name, travel, along):
        console.say(line)
    console.result(
        {
            "machine": measured.machine_name,
            **{
                name: at.round(2).tolist() for name, at in along.columns(np.array(proposed.angle_rad)).items()
            },
            **travel_record(travel, along),
            "left_out": [along.record(at_rad) for at_rad in proposed.left_out_rad],
            "rounds": proposed.rounds,
            "hold_s": proposed.hold_s,
            "rest_s": proposed.rest_s,
            "cautions": [str(caution) for caution in proposed.cautions],
        }
    )
    return 0

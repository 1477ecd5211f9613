"""``feltload client match | plan | limit``: a machine's load against a person's capacity."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.app.commands.client.arguments import AngleText, CapacityFile, OptionalAngleText, ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.coaching import Match


def match(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    load: str | None = None,
    demand: float | None = None,
    stop: OptionalAngleText = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Where a client runs out on this machine, and how many repetitions that allows.

    Example: feltload client match row capacity.json --load "30 kg" --stop "25 deg"

    Parameters
    ----------
    load
        Plates, such as "30 kg"; needed when several loads were measured.
    demand
        Also tell the load at which the limiting position reaches this fraction of capacity.
    stop
        Also tell the repetitions when each is turned at this angle, such as "25 deg".
    """
    from feltload.app.jobs.client_inputs import read_angle_rad, read_capacity, read_load_kg, read_profile
    from feltload.app.text.client_words import match_sentences, repetition_sentence
    from feltload.app.text.numbers import degrees
    from feltload.coaching import (
        ESTIMATE,
        LoadLine,
        full_against_short,
        load_for_demand,
        match_capacity as compare,
        shortening_words,
    )

    console = Console(common)
    measured = read_profile(profile)
    line = LoadLine.of(measured)
    curve = read_capacity(capacity, measured)
    found = compare(line, curve, read_load_kg(load, measured))
    record = _match_record(found)
    for sentence in match_sentences(found):
        console.say(sentence)
    console.say(repetition_sentence(found))
    if stop is not None:
        turn_rad = read_angle_rad(stop, "--stop")
        full, short = full_against_short(found, turn_rad)
        console.say(shortening_words(full, short, degrees(turn_rad)))
        record["repetitions_full"] = [full.low, full.high]
        record["repetitions_short"] = [short.low, short.high]
    if demand is not None:
        wanted = load_for_demand(line, curve, demand)
        console.say(f"{100 * demand:.0f} % of capacity at the limiting position takes {wanted:.1f} kg.")
        record["load_for_demand_kg"] = wanted
    for warning in found.warnings:
        console.note(f"Note: {warning}")
    console.note(ESTIMATE)
    console.result(record)
    return 0


def _match_record(found: Match) -> dict[str, object]:
    import numpy as np

    return {
        "load_kg": found.load_kg,
        "limiting_angle_deg": float(np.rad2deg(found.limiting_angle_rad)),
        "limiting_range_deg": [float(np.rad2deg(a)) for a in found.limiting_range_rad],
        "limiting_demand": found.limiting_demand,
        "limiting_demand_u": found.u_limiting_demand,
        "evenness": found.evenness,
        "under_challenged_share": found.under_challenged_share,
        "angle_deg": np.rad2deg(found.angle_rad).tolist(),
        "demand": found.demand.tolist(),
        "warnings": list(found.warnings),
    }


def plan(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    target: float,
    load: str | None = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Plan help or resistance by hand, so that the client works evenly.

    Example: feltload client plan row capacity.json --load "30 kg" --target 0.7

    Parameters
    ----------
    target
        Fraction of capacity that the client shall feel everywhere.
    load
        Plates, such as "30 kg".
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_capacity, read_load_kg, read_profile
    from feltload.app.text.numbers import force_text
    from feltload.coaching import HELP_BY_HAND, STEADY_HAND_N, LoadLine, plan_help

    console = Console(common)
    measured = read_profile(profile)
    found = plan_help(
        LoadLine.of(measured), read_capacity(capacity, measured), read_load_kg(load, measured), target
    )
    console.say(f"At {found.load_kg:g} kg, to feel {100 * target:.0f} % of capacity everywhere:")
    for stretch in found.stretches:
        console.say(f"  {stretch.words()}")
    if found.beyond_a_hand:
        console.note(
            f"Note: above {force_text(STEADY_HAND_N)} is more than a partner gives evenly; change the plates first."
        )
    console.note(HELP_BY_HAND)
    console.result(
        {
            "load_kg": found.load_kg,
            "target": target,
            "angle_deg": np.rad2deg(found.angle_rad).tolist(),
            "help_n": found.help_n.tolist(),
            "u95_n": (2 * found.u_n).tolist(),
            "words": [s.words() for s in found.stretches],
        }
    )
    return 0


def limit(
    profile: ProfileFolder, /, *, force: str, between: AngleText, common: CommonOptions = DEFAULTS
) -> int:
    """The greatest load that keeps the force under a limit between two positions.

    Example: feltload client limit row --force "150 N" --between "20:40 deg"

    Parameters
    ----------
    force
        Greatest force allowed there, such as "150 N" or "15 kgf".
    between
        The two positions, such as "20:40 deg".
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_profile, read_range_rad
    from feltload.app.text.numbers import degrees
    from feltload.coaching import LoadLine, greatest_load
    from feltload.core import parse_quantity

    console = Console(common)
    most = parse_quantity(force, "force", where="--force").value
    low, high = read_range_rad(between, "--between")
    found = greatest_load(LoadLine.of(read_profile(profile)), most, low, high)
    console.say(
        f"At most {found.load_kg:.1f} kg keeps the force under {most:.0f} N between {degrees(low)} and "
        f"{degrees(high)} (decided at {degrees(found.at_rad)}, upper end of the band)."
    )
    console.note(found.caution)
    console.result({"load_kg": found.load_kg, "limit_n": most, "at_deg": float(np.rad2deg(found.at_rad))})
    return 0

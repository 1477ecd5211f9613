"""``feltload client what-if``: what a coach can change, and what becomes of the match."""

from __future__ import annotations

from pathlib import Path

from feltload.app.commands.client.arguments import CapacityFile, OptionalAngleText, ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def what_if(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    load: str | None = None,
    plates: list[str] | None = None,
    start: OptionalAngleText = None,
    stop: OptionalAngleText = None,
    added: list[Path] | None = None,
    tempo: float | None = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Compare changes: other plates, a higher start, a shorter range, bands or chains, another tempo.

    Example: feltload client what-if row capacity.json --load "30 kg" --plates "25 kg" --stop "25 deg"

    Parameters
    ----------
    load
        Plates as they are, such as "30 kg".
    plates
        Other plates to try.
    start
        A higher start (seat or stop), as the angle it gives.
    stop
        A range cut short at this angle.
    added
        CSV of a band or chain at the handle: angle_deg, force_n.
    tempo
        Seconds that the raising shall take: tells what inertia adds.
    """
    import numpy as np

    from feltload.app.jobs.client_inputs import read_angle_rad, read_capacity, read_load_kg, read_profile
    from feltload.app.text.numbers import degrees
    from feltload.coaching import (
        ESTIMATE,
        AddedForce,
        LoadLine,
        capacity_from_table,
        compare_changes,
        inertia_swing_n,
        repetitions_at,
        with_added,
        within,
    )
    from feltload.core import parse_quantity

    console = Console(common)
    measured = read_profile(profile)
    line = LoadLine.of(measured)
    kg = read_load_kg(load, measured)
    changes: list[tuple[str, LoadLine, float]] = []
    for text in plates or []:
        other = parse_quantity(text, "mass", where="--plates").value
        changes.append((f"{other:g} kg on", line, other))
    if start is not None:
        from_rad = read_angle_rad(start, "--start")
        changes.append((f"start at {degrees(from_rad)}", within(line, from_rad, np.inf), kg))
    if stop is not None:
        to_rad = read_angle_rad(stop, "--stop")
        changes.append((f"turn at {degrees(to_rad)}", within(line, -np.inf, to_rad), kg))
    for path in added or []:
        # A force-by-angle table is read the same way whatever gives the force.
        table = capacity_from_table(path)
        changes.append(
            (path.stem, with_added(line, [AddedForce(path.stem, table.angle_rad, table.force_n)]), kg)
        )
    found = compare_changes(line, read_capacity(capacity, measured), kg, changes)
    rows = []
    for one in found:
        m = one.match
        reps = repetitions_at(m.limiting_demand, m.u_limiting_demand)
        console.say(
            f"{one.name}: hardest at {degrees(m.limiting_angle_rad)}, {100 * m.limiting_demand:.0f} % of "
            f"capacity, evenness {m.evenness:.2f}, repetitions {reps}, "
            f"under-challenged over {100 * m.under_challenged_share:.0f} % of the travel"
        )
        rows.append(
            {
                "change": one.name,
                "load_kg": m.load_kg,
                "limiting_angle_deg": float(np.rad2deg(m.limiting_angle_rad)),
                "limiting_demand": m.limiting_demand,
                "evenness": m.evenness,
                "under_challenged_share": m.under_challenged_share,
                "repetitions": [reps.low, reps.high],
            }
        )
    record: dict[str, object] = {"changes": rows}
    if tempo is not None:
        swing = inertia_swing_n(line, kg, tempo)
        console.say(
            f"Raised in {tempo:g} s, inertia adds up to {swing:.0f} N early and takes as much off later."
        )
        record["inertia_swing_n"] = swing
    console.note(ESTIMATE)
    console.result(record)
    return 0

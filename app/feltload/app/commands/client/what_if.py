"""``feltload client what-if``: what a coach can change, and what becomes of the match."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.commands.client.arguments import (
    NO_PAIN,
    WHOLE,
    CapacityFile,
    EndOptions,
    PainOptions,
    ProfileFolder,
)
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.coaching import WhatIf
    from feltload.signal import Travel


def what_if(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    load: str | None = None,
    plates: list[str] | None = None,
    plates_available: str | None = None,
    ends: EndOptions = WHOLE,
    added: list[Path] | None = None,
    tempo: float | None = None,
    pain: PainOptions = NO_PAIN,
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
    plates_available
        Sizes of the plates at hand, such as "2.5 5 10 kg": only loads that they make are tried, never above --plates.
    added
        CSV of a band or chain at the handle: force_n by handle_travel_mm from the start stop, travel_percent, or
        angle_deg on a lever.
    tempo
        Seconds that the raising shall take: tells what inertia adds.
    """
    from feltload.app.files.inputs import read_load
    from feltload.app.jobs.client_inputs import read_load_kg, read_profile
    from feltload.app.jobs.painful import KnownPain, read_marked_capacity
    from feltload.app.jobs.quantities import read_ends_rad, read_plates
    from feltload.app.text.person.match import describe_inertia, describe_not_made, describe_what_if
    from feltload.app.text.person.travel import describe_ends, describe_lead
    from feltload.coaching import (
        SAME_LOAD_KG,
        Change,
        LoadLine,
        added_from_table,
        compare_changes,
        inertia_swing_n,
    )
    from feltload.core import unique_facts

    console = Console(common)
    at_hand = None if plates_available is None else read_plates(plates_available, "--plates-available")
    measured = read_profile(profile)
    console.doubts(measured)
    along = measured.travel
    line = LoadLine.of(measured)
    kg = read_load_kg(load, measured)
    wanted = [read_load(text, "--plates").value for text in plates or []]
    tried = wanted if at_hand is None else [at_hand.up_to(load_kg) for load_kg in wanted]
    changes = [Change.plates(line, load_kg) for load_kg in dict.fromkeys(tried)]
    start_rad, stop_rad = read_ends_rad(ends.start, ends.stop, line, along)
    if start_rad is not None:
        changes.append(Change.higher_start(line, kg, start_rad))
    if stop_rad is not None:
        changes.append(Change.shorter_range(line, kg, stop_rad))
    for path in added or []:
        changes.append(Change.added_force(line, kg, added_from_table(path, along)))
    curve = read_marked_capacity(capacity, measured, KnownPain.read(pain.painful, pain.client))
    what_ifs = compare_changes(line, curve, kg, changes)
    travel = what_ifs[0].match.travel
    swing = None if tempo is None else inertia_swing_n(line.cut_to(*travel.moved_rad), kg, tempo)
    for sentence in describe_lead(travel, along):
        console.say(sentence)
    for load_kg, made_kg in zip(wanted, tried, strict=True):
        if abs(made_kg - load_kg) > SAME_LOAD_KG:
            console.say(describe_not_made(load_kg, made_kg))
    for what_if in what_ifs:
        console.say(describe_what_if(what_if, along))
    console.facts(unique_facts(fact for what_if in what_ifs for fact in what_if.match.carried))
    for sentence in describe_ends(travel, along):
        console.say(sentence)
    record: dict[str, object] = {"changes": [_change_record(what_if, along) for what_if in what_ifs]}
    if tempo is not None and swing is not None:
        console.say(describe_inertia(swing, tempo))
        record["inertia_swing_n"] = swing
    console.cautions(what_ifs[0].match.cautions)
    console.result(record)
    return 0


def _change_record(what_if: WhatIf, along: Travel) -> dict[str, object]:
    from feltload.app.jobs.travel import travel_record

    change, match = what_if.change, what_if.match
    return {
        **travel_record(match.travel, along),
        "change": str(change.kind),
        "at": None if change.at_rad is None else along.record(change.at_rad),
        "added": change.name or None,
        "load_kg": match.load_kg,
        "limiting": along.record(match.limiting_angle_rad),
        "limiting_demand": match.limiting_demand,
        "evenness": match.evenness,
        "under_challenged_share": match.under_challenged_share,
        "repetitions": [match.repetitions.low, match.repetitions.high],
        "warnings": [fact.to_dict() for fact in match.warnings],
    }

"""``feltload client match | plan | limit``: a machine's load against a person's capacity."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.app.commands.client.arguments import (
    NO_PAIN,
    WHOLE,
    AngleText,
    CapacityFile,
    EndOptions,
    MarksFile,
    PainOptions,
    ProfileFolder,
)
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions, OptionalShare

if TYPE_CHECKING:
    from feltload.coaching import HelpPlan, HelpStretch, Match
    from feltload.signal import Travel


def match(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    load: str | None = None,
    demand: OptionalShare = None,
    ends: EndOptions = WHOLE,
    plates_available: str | None = None,
    pain: PainOptions = NO_PAIN,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Where a client runs out on this machine, and how many repetitions that allows.

    With --start or --stop it also says what that does to the repetitions.

    Example: feltload client match row capacity.json --load "30 kg" --stop "25 deg"

    Parameters
    ----------
    load
        Plates, such as "30 kg"; needed when several loads were measured.
    demand
        Also say the load at which the limiting position reaches this share of capacity, such as "80 %".
    plates_available
        Sizes of the plates at hand, such as "2.5 5 10 kg": the load for --demand is made of them, never above it.
    """
    from feltload.app.jobs.painful import KnownPain
    from feltload.app.jobs.quantities import read_ends_rad, read_plates
    from feltload.app.people.fitting import MeasuredMachine, fit_client
    from feltload.app.text.person.match import (
        describe_full_range,
        describe_load_for_demand,
        describe_match,
        describe_plates_at_hand,
        describe_shortening,
    )
    from feltload.coaching import load_for_demand, match_capacity

    console = Console(common)
    at_hand = None if plates_available is None else read_plates(plates_available, "--plates-available")
    machine = MeasuredMachine.read(profile)
    line, along = machine.line, machine.along
    start_rad, stop_rad = read_ends_rad(ends.start, ends.stop, line, along)
    fitting = fit_client(machine, capacity, load=load, known=KnownPain.read(pain.painful, pain.client))
    curve, matched = fitting.capacity, fitting.match
    console.doubts(machine.profile)
    record = _match_record(matched, along)
    sentences = [*describe_match(matched, along), describe_full_range(matched, along)]
    if start_rad is not None or stop_rad is not None:
        full = matched.repetitions
        short = matched.repetitions_within(from_rad=start_rad, to_rad=stop_rad)
        sentences.append(describe_shortening(matched, start_rad, stop_rad, along))
        record["repetitions_full"] = [full.low, full.high]
        record["repetitions_short"] = [short.low, short.high]
    if demand is not None:
        load_kg = load_for_demand(line, curve, demand)
        sentences.append(describe_load_for_demand(match_capacity(line, curve, load_kg), demand, along))
        if at_hand is not None:
            load_kg = at_hand.up_to(load_kg)
            sentences.append(describe_plates_at_hand(match_capacity(line, curve, load_kg)))
        record["load_for_demand_kg"] = load_kg
    for sentence in sentences:
        console.say(sentence)
    console.facts(matched.warnings)
    console.cautions(matched.cautions)
    console.result(record)
    return 0


def _match_record(matched: Match, along: Travel) -> dict[str, object]:
    from feltload.app.jobs.travel import span_record, travel_record

    return {
        **travel_record(matched.travel, along),
        "load_kg": matched.load_kg,
        "limiting": along.record(matched.limiting_angle_rad),
        "limiting_range": span_record(matched.limiting_range_rad, along),
        "limiting_demand": matched.limiting_demand,
        "limiting_demand_u": matched.u_limiting_demand,
        "repetitions": [matched.repetitions.low, matched.repetitions.high],
        "evenness": matched.evenness,
        "under_challenged_share": matched.under_challenged_share,
        **{name: at.tolist() for name, at in along.columns(matched.angle_rad).items()},
        "demand": matched.demand.tolist(),
        "warnings": [fact.to_dict() for fact in matched.warnings],
    }


def plan(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    target: OptionalShare = None,
    load: str | None = None,
    ends: EndOptions = WHOLE,
    pain: PainOptions = NO_PAIN,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Plan help or resistance by hand, so that the client works evenly.

    Example: feltload client plan row capacity.json --load "30 kg" --target "70 %"

    Parameters
    ----------
    target
        Share of capacity that the client shall feel everywhere, such as "70 %" or 0.7; by default 70 %, or what the
        load asks for at its hardest position where that is less.
    load
        Plates, such as "30 kg".
    """
    from feltload.app.jobs.client_inputs import read_load_kg, read_profile
    from feltload.app.jobs.painful import KnownPain, read_marked_capacity
    from feltload.app.jobs.quantities import read_ends_rad
    from feltload.app.text.person.hands import describe_aim, describe_plan
    from feltload.app.text.person.match import describe_ends_wanted
    from feltload.app.text.person.travel import describe_ends, describe_lead
    from feltload.coaching import LoadLine, plan_help

    console = Console(common)
    measured = read_profile(profile)
    console.doubts(measured)
    curve = read_marked_capacity(capacity, measured, KnownPain.read(pain.painful, pain.client))
    line, along = LoadLine.of(measured), measured.travel
    start_rad, stop_rad = read_ends_rad(ends.start, ends.stop, line, along)
    planned = plan_help(
        line, curve, read_load_kg(load, measured), target, from_rad=start_rad, to_rad=stop_rad
    )
    for sentence in (
        *describe_lead(planned.travel, along),
        *describe_ends(planned.travel, along),
        describe_aim(planned, along, describe_ends_wanted(start_rad, stop_rad, along)),
    ):
        console.say(sentence)
    for sentence in describe_plan(planned, along):
        console.say(f"  {sentence}")
    console.cautions(planned.cautions)
    console.result(_plan_record(planned, along))
    return 0


def _plan_record(planned: HelpPlan, along: Travel) -> dict[str, object]:
    from feltload.app.jobs.travel import travel_record
    from feltload.coaching import Phase

    return {
        **travel_record(planned.travel, along),
        "load_kg": planned.load_kg,
        "target": planned.target,
        **{name: at.tolist() for name, at in along.columns(planned.angle_rad).items()},
        "help_n": planned.help_n.tolist(),
        "lowering_help_n": planned.lowering_help_n.tolist(),
        "u95_n": planned.u95_n.tolist(),
        **{f"hand_{phase}_n": planned.hand_n(phase).tolist() for phase in Phase},
        "stretches": {
            str(phase): [_stretch_record(stretch, along) for stretch in planned.in_order(phase)]
            for phase in Phase
        },
        "beyond_a_hand": planned.beyond_a_hand,
    }


def _stretch_record(stretch: HelpStretch, along: Travel) -> dict[str, object]:
    return {
        "from": along.record(stretch.from_rad),
        "to": along.record(stretch.to_rad),
        "action": str(stretch.action),
        "course": str(stretch.course),
        "mean_n": stretch.mean_n,
        "first_n": stretch.first_n,
        "last_n": stretch.last_n,
        "peak_n": stretch.peak_n,
        "peak": along.record(stretch.peak_rad),
        "u95_n": stretch.u95_n,
    }


def limit(
    profile: ProfileFolder,
    /,
    *,
    force: str,
    between: AngleText,
    plates_available: str | None = None,
    capacity: MarksFile = None,
    pain: PainOptions = NO_PAIN,
    common: CommonOptions = DEFAULTS,
) -> int:
    """The greatest load that keeps the force under a limit between two positions.

    Example: feltload client limit row --force "150 N" --between "20:40 deg"

    Parameters
    ----------
    force
        Greatest force allowed there, such as "150 N" or "15 kgf".
    between
        The two positions, such as "20:40 deg", "30:45 cm" or "60:90 %" of the travel.
    plates_available
        Sizes of the plates at hand, such as "2.5 5 10 kg": the load is made of them, never above it.
    """
    from feltload.app.files.inputs import read_force_limit_n
    from feltload.app.jobs.client_inputs import read_profile
    from feltload.app.jobs.painful import KnownPain
    from feltload.app.jobs.quantities import read_plates, read_range_rad
    from feltload.app.jobs.travel import span_records
    from feltload.app.text.person.match import describe_limit, describe_made_of_plates
    from feltload.coaching import LoadLine, greatest_load

    console = Console(common)
    limit_n = read_force_limit_n(force, "--force")
    at_hand = None if plates_available is None else read_plates(plates_available, "--plates-available")
    measured = read_profile(profile)
    console.doubts(measured)
    along = measured.travel
    low, high = read_range_rad(between, "--between", along)
    ranges = KnownPain.read(pain.painful, pain.client).with_capacity(capacity, measured)
    greatest = greatest_load(LoadLine.of(measured), limit_n, low, high, painful=ranges)
    console.say(describe_limit(greatest, low, high, along))
    load_kg = greatest.load_kg if at_hand is None else at_hand.up_to(greatest.load_kg)
    if at_hand is not None:
        console.say(describe_made_of_plates(load_kg))
    console.cautions(greatest.cautions)
    console.result(
        {
            "load_kg": load_kg,
            "limit_n": limit_n,
            "at": along.record(greatest.at_rad),
            "painful": span_records(greatest.painful_rad, along),
        }
    )
    return 0

"""The script of a recording, by its kind and what it goes by."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.acquisition import RecordingInfo
from feltload.app.errors import UsageError
from feltload.app.jobs.client_inputs import read_profile
from feltload.app.jobs.painful import KnownPain, read_marked_capacity
from feltload.app.options import PersonOptions
from feltload.app.scripts.holds import HoldScript
from feltload.app.scripts.repetitions import RepetitionScript
from feltload.app.scripts.script import Script
from feltload.app.text.person.hands import describe_aim, describe_plan
from feltload.app.text.person.recording import (
    HELPED_WITHOUT_PLAN,
    HOLDS_QUESTION,
    describe_holds_ahead,
    describe_painful,
)
from feltload.app.text.person.travel import describe_lead, describe_pain
from feltload.calibration import Machine, parse_machine, reference_of
from feltload.coaching import Caution, HelpPlan, LoadLine, plan_help, plan_holds, working_travel
from feltload.signal import ProfileEstimate, Travel, whole_travel


@dataclass(frozen=True)
class PreparedScript:
    """A script, what is said before it begins, and what it goes by.

    Attributes
    ----------
    script : Script
    cautions : tuple of Caution
    ahead : tuple of str
        What lies ahead.
    question : str
        What must be so before anything is connected; empty when nothing need be.
    lines : tuple of str
        What stays in view, such as a partner's plan.
    along : Travel or None
        What positions are said as parts of.
    profile : ProfileEstimate or None
        The machine's.
    help_plan : HelpPlan or None
        The partner's.
    """

    script: Script
    cautions: tuple[Caution, ...] = ()
    ahead: tuple[str, ...] = ()
    question: str = ""
    lines: tuple[str, ...] = ()
    along: Travel | None = None
    profile: ProfileEstimate | None = None
    help_plan: HelpPlan | None = None


def plain_script() -> PreparedScript:
    """Repetitions of the machine."""
    return PreparedScript(RepetitionScript())


def prepare_script(
    info: RecordingInfo, person: PersonOptions, *, profile_alone: bool = False
) -> PreparedScript:
    """The script for what is to be recorded.

    Parameters
    ----------
    info : RecordingInfo
    person : PersonOptions
    profile_alone : bool
        A helped set may go by a profile without a capacity: help is then shown beside no plan.

    Raises
    ------
    UsageError
        When an option is missing, belongs to another kind, or names a profile of another machine.
    CapacityError
        When no plan of holds is possible.
    """
    machine = parse_machine(info.machine_toml or "", "--machine")
    if info.kind == "holds":
        return _holds(machine, person)
    if info.kind == "helped":
        return _helped(machine, info.required_load_kg("--load"), person, profile_alone)
    for option, given in (
        ("--result", person.result),
        ("--capacity", person.capacity),
        ("--painful", person.painful),
    ):
        if given is not None:
            raise UsageError(
                "belongs to a recording of a person", where=option, remedy="add --kind holds or --kind helped"
            )
    return plain_script()


def _holds(machine: Machine, person: PersonOptions) -> PreparedScript:
    profile = _profile(machine, person)
    if profile is None:
        raise UsageError(
            "holds need a profile of the machine, to know the positions",
            where="--result",
            remedy="name the directory that `feltload profile` wrote",
        )
    if person.capacity is not None:
        raise UsageError(
            "belongs to a helped set", where="--capacity", remedy="leave it out, or --kind helped"
        )
    ends = float(profile.angle_rad[0]), float(profile.angle_rad[-1])
    painful = KnownPain.read(person.painful, person.client).on(machine.name, profile.travel)
    plan = plan_holds(*ends, painful=painful)
    travel = working_travel(ends, painful_rad=painful, along=profile.travel)
    along = profile.travel
    ahead = (*describe_pain(travel, along), *describe_holds_ahead(plan, machine.name, along))
    return PreparedScript(
        HoldScript(plan, reference_of(machine).start_angle_rad),
        cautions=(*travel.cautions, *plan.cautions),
        ahead=ahead,
        question=HOLDS_QUESTION,
        along=along,
        profile=profile,
    )


def _helped(machine: Machine, load_kg: float, person: PersonOptions, profile_alone: bool) -> PreparedScript:
    profile = _profile(machine, person)
    planned = profile is not None and person.capacity is not None
    if (profile, person.capacity) != (None, None) and not planned and not (profile and profile_alone):
        raise UsageError(
            "a partner's plan needs both", where="--result, --capacity", remedy="give both or neither"
        )
    lines: tuple[str, ...] = HELPED_WITHOUT_PLAN
    cautions: tuple[Caution, ...] = (Caution.HELP_BY_HAND,)
    known = KnownPain.read(person.painful, person.client)
    travel = whole_travel(reference_of(machine)) if profile is None else profile.travel
    painful = known.on(machine.name, travel, measured=profile is not None)
    if painful:
        lines = (describe_painful(painful, travel), *lines)
    plan = along = None
    if profile is not None and person.capacity is not None:
        capacity = read_marked_capacity(person.capacity, profile, known)
        plan = plan_help(LoadLine.of(profile), capacity, load_kg, person.target)
        along = profile.travel
        lines = (
            *describe_lead(plan.travel, along),
            describe_aim(plan, along),
            *describe_plan(plan, along),
        )
        cautions = plan.cautions
    return PreparedScript(
        RepetitionScript(helped=True),
        cautions=cautions,
        lines=lines,
        along=along,
        profile=profile,
        help_plan=plan,
    )


def _profile(machine: Machine, person: PersonOptions) -> ProfileEstimate | None:
    if person.result is None:
        return None
    profile = read_profile(person.result)
    if profile.machine_name != machine.name:
        raise UsageError(
            f"is of {profile.machine_name!r}, the machine file of {machine.name!r}",
            where=str(person.result),
            remedy="profile this machine first, or name its own machine file",
        )
    return profile

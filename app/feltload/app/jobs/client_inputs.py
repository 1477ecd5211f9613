"""What the client commands read: a profile, a capacity, a session of this person at this machine."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from feltload.acquisition import read_recording
from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_load
from feltload.app.files.invented import is_invented
from feltload.app.jobs.kinds import Wanted, require_kind
from feltload.app.jobs.measuring.right_recordings import require_both_sensors
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.reference import reference_of
from feltload.calibration import AgreementFact, Machine, load_machine, parse_machine
from feltload.coaching import CapacityCurve, CapacitySource, PersonMotion, capacity_from_json, person_motion
from feltload.core import Fact, parse_quantity
from feltload.signal import ProfileEstimate, Session


def read_profile(directory: Path) -> ProfileEstimate:
    """A result of ``feltload profile``, fit to choose a person's load by.

    Raises
    ------
    UsageError
        When a load in it is not the stated one: every load computed from it would be wrong for the person under it.
    """
    estimate = load_possible(directory)
    for fact in estimate.warnings:
        # Where a dimension of the machine file explains it as well, the load may be right.
        if fact.kind == AgreementFact.LOAD_LOOKS_LIKE and not fact.figures.get("tied"):
            raise UsageError(
                f"a load in it looks like {fact.figure('looks_like_kg'):.3g} kg and was stated as "
                f"{fact.figure('stated_kg'):g} kg, so no load for a person can be computed from it",
                where=str(directory),
                remedy="check the plates, then record or import it again with the right --load",
            )
    return estimate


def read_capacity(path: Path, profile: ProfileEstimate) -> CapacityCurve:
    """A capacity curve measured on the machine of `profile` (or read from a table).

    Raises
    ------
    UsageError
        When it is of another machine.
    """
    curve, machine = capacity_from_json(path)
    if curve.source != CapacitySource.TABLE and machine != profile.machine_name:
        raise UsageError(
            f"was measured on {machine!r}, the profile is of {profile.machine_name!r}",
            where=str(path),
            remedy="measure the capacity at this machine's handle",
        )
    return curve


def read_sides(left: Path, right: Path) -> tuple[CapacityCurve, CapacityCurve]:
    """Capacity of both sides of one person at one machine.

    Raises
    ------
    UsageError
        When they are of two machines, or a file is of the other side.
    """
    if left.exists() and right.exists() and left.read_bytes() == right.read_bytes():
        raise UsageError(
            "is the same as the left side's file, so nothing could differ",
            where=str(right),
            remedy="name the left side's file first, then the right side's",
        )
    curves = []
    machines = []
    for path, side in ((left, "left"), (right, "right")):
        curve, machine = capacity_from_json(path)
        if curve.side not in (None, side):
            raise UsageError(
                f"is of the {curve.side} side",
                where=str(path),
                remedy="name the left side's file first, then the right side's",
            )
        curves.append(curve)
        if curve.source != CapacitySource.TABLE:
            machines.append(machine)
    if len(set(machines)) > 1:
        raise UsageError(
            f"was measured on {machines[1]!r}, the left side on {machines[0]!r}",
            where=str(right),
            remedy="measure both sides at one machine",
        )
    return curves[0], curves[1]


def read_load_kg(text: str | None, profile: ProfileEstimate) -> float:
    """The load named on the command line, or the only one measured."""
    if text is not None:
        return read_load(text, "--load").value
    if profile.loads_kg.size == 1:
        return float(profile.loads_kg[0])
    measured = ", ".join(f"{load:g} kg" for load in profile.loads_kg)
    raise UsageError(
        f"several loads were measured ({measured})", where="--load", remedy='name one, such as "30 kg"'
    )


def read_angle_rad(text: str, option: str) -> float:
    """An angle such as "20 deg"."""
    return parse_quantity(text, "angle", where=option).value


def read_range_rad(text: str, option: str) -> tuple[float, float]:
    """A range such as "20:40 deg", low end first.

    Raises
    ------
    UsageError
        When it is not two angles.
    """
    low, colon, high = text.partition(":")
    if not colon:
        raise UsageError(f"{text!r} is not a range", where=option, remedy='write it as "20:40 deg"')
    ends = tuple(
        parse_quantity(text if not _is_plain(text) else f"{text} deg", "angle", where=option).value
        for text in (low, high)
    )
    if ends[0] >= ends[1]:
        raise UsageError(f"{text!r} does not rise", where=option, remedy="write the lower angle first")
    return ends[0], ends[1]


def _is_plain(text: str) -> bool:
    """Whether a number stands without a unit; the unit of the range's end is then degrees."""
    try:
        float(text)
    except ValueError:
        return False
    return True


@dataclass(frozen=True)
class PersonSession:
    """A person's session at a machine.

    Attributes
    ----------
    motion : PersonMotion
        Force and angle on one clock.
    load_kg : float
    machine : str
        Name of the machine.
    invented : bool
        Whether the recording is of an emulated rig.
    damage : tuple of Fact
        What the recording's file lost.
    """

    motion: PersonMotion
    load_kg: float
    machine: str
    invented: bool
    damage: tuple[Fact, ...] = ()


def read_session(
    path: Path,
    *,
    machine_path: Path | None = None,
    side: str | None = None,
    profile: ProfileEstimate | None = None,
    wanted: Wanted = "set",
) -> PersonSession:
    """A person's session on one clock.

    Raises
    ------
    UsageError
        When its machine is unknown, or another than the profile's, or it is not of the `wanted` kind.
    """
    recording = read_recording(path)
    require_both_sensors(path, recording)
    machine = _machine_of(path, recording.info.machine_toml, machine_path)
    if profile is not None and machine.name != profile.machine_name:
        raise UsageError(
            f"is of {machine.name!r}, the profile is of {profile.machine_name!r}",
            where=str(path),
            remedy="profile the machine that the session was done on",
        )
    session = Session.from_recording(recording, side=side)
    require_kind(path, recording, session, wanted)
    motion = person_motion(session, reference_of(machine), None if profile is None else profile.lag)
    damage = tuple(replace(fact, session=path.name) for fact in recording.damage)
    return PersonSession(motion, recording.load_kg, machine.name, is_invented(recording), damage)


def _machine_of(path: Path, text: str | None, machine_path: Path | None) -> Machine:
    if machine_path is not None:
        return load_machine(machine_path)
    if text is None:
        raise UsageError(
            "holds no machine file, so the angle cannot be tied to the machine",
            where=str(path),
            remedy="name one with --machine",
        )
    return parse_machine(text, f"{path}: machine.toml")

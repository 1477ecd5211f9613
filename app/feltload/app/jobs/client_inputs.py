"""What the client commands read: a profile, a capacity, a session of this person at this machine."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feltload.acquisition import Recording
from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_load, read_machine_text
from feltload.app.files.invented import is_invented
from feltload.app.files.recordings import certificate_facts, open_recording
from feltload.app.jobs.kinds import Wanted, require_kind
from feltload.app.jobs.measuring.right_recordings import require_both_sensors
from feltload.app.jobs.measuring.sources import machine_replaced
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.quantities import read_angle_rad
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.calibration import AgreementFact, parse_machine, reference_of
from feltload.coaching import (
    CapacityCurve,
    CapacitySource,
    PersonMotion,
    capacity_from_json,
    person_motion,
    span_around,
)
from feltload.core import Fact, mass_text
from feltload.signal import ProfileEstimate, ProfileFact, Reference, Session


def read_profile(directory: Path) -> ProfileEstimate:
    """A result of ``feltload profile``, fit to choose a person's load by.

    Raises
    ------
    UsageError
        When a load in it is not the stated one, or its forces look read in the wrong unit: every load computed from it
        would be wrong for the person under it.
    """
    estimate = load_possible(directory)
    if not estimate.measured:
        raise UsageError(
            "is a prediction from dimensions, and nobody works by a machine that was not measured",
            where=str(directory),
            remedy="measure the machine, and name the directory that `feltload profile` wrote",
        )
    for fact in estimate.warnings:
        if fact.kind == AgreementFact.UNIT_LOOKS_WRONG:
            raise UsageError(
                f"its forces look as if {fact.figures['meant']} had been read as {fact.figures['taken']}, so no load "
                "for a person can be computed from it",
                where=str(directory),
                remedy="check the unit in the rig file, the certificate or the columns, and make the profile again",
            )
        if fact.kind == ProfileFact.LIGHTER_WITH_LOAD and fact.figures["swapped"]:
            raise UsageError(
                f"its loads look swapped: {mass_text(fact.figure('heavy_kg'))} feels lighter than "
                f"{mass_text(fact.figure('light_kg'))} in it, so no load for a person can be computed from it",
                where=str(directory),
                remedy="check which plates were on it in which recording, and record or import them again with the "
                "right --load",
            )
        # Where a dimension of the machine file explains it as well, the load may be right.
        if fact.kind == AgreementFact.LOAD_LOOKS_LIKE and not fact.figures.get("tied"):
            raise UsageError(
                f"a load in it looks like {fact.figure('looks_like_kg'):.3g} kg and was stated as "
                f"{mass_text(fact.figure('stated_kg'))}, so no load for a person can be computed from it",
                where=str(directory),
                remedy="check the plates, and record or import it again with the right --load; if they are right, a "
                "part's mass is missing or wrong in the machine file",
            )
    return estimate


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
    measured = ", ".join(mass_text(load) for load in profile.loads_kg)
    raise UsageError(
        f"several loads were measured ({measured})", where="--load", remedy='name one, such as "30 kg"'
    )


@dataclass(frozen=True)
class PersonSession:
    """A person's session at a machine.

    Attributes
    ----------
    motion : PersonMotion
        Force and angle on one clock.
    load_kg : float
    reference : Reference
        What the machine file says about the angle and the handle.
    invented : bool
        Whether the recording is of an emulated rig.
    damage : tuple of Fact
        What the recording's file lost, and what is used in place of what it holds.
    painful_rad : tuple of (low_rad, high_rad)
        Around the positions at which pain was reported while recording.
    """

    motion: PersonMotion
    load_kg: float
    reference: Reference
    invented: bool
    damage: tuple[Fact, ...] = ()
    painful_rad: tuple[tuple[float, float], ...] = ()

    @property
    def machine(self) -> str:
        """Name of the machine."""
        return self.reference.machine_name


def read_session(
    path: Path,
    *,
    replaced: ReplacedFiles = NOTHING_REPLACED,
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
    machine_path = replaced.machine
    recording = open_recording(path, rig=replaced.rig)
    require_both_sensors(path, recording)
    machine_text = _machine_text(path, recording.info.machine_toml, machine_path)
    machine = parse_machine(machine_text, str(machine_path or f"{path}: machine.toml"))
    if profile is not None and machine.name != profile.machine_name:
        raise UsageError(
            f"is of {machine.name!r}, the profile is of {profile.machine_name!r}",
            where=str(path),
            remedy="profile the machine that the session was done on",
        )
    session = Session.from_recording(recording, side=side)
    require_kind(path, recording, session, wanted)
    reference = reference_of(machine)
    motion = person_motion(session, reference, None if profile is None else profile.lag)
    damage = tuple(
        replace(fact, session=path.name)
        for fact in (
            *recording.damage,
            *certificate_facts(recording),
            *machine_replaced(machine_path, machine_text, [recording]),
        )
    )
    return PersonSession(
        motion,
        recording.load_kg,
        reference,
        is_invented(recording),
        damage,
        _pain_reported(recording, motion),
    )


def _machine_text(path: Path, kept: str | None, machine_path: Path | None) -> str:
    if machine_path is not None:
        return read_machine_text(machine_path)
    if kept is None:
        raise UsageError(
            "holds no machine file, so the angle cannot be tied to the machine",
            where=str(path),
            remedy="name one with --machine",
        )
    return kept


def _pain_reported(recording: Recording, motion: PersonMotion) -> tuple[tuple[float, float], ...]:
    """Ranges around each reported pain: at the position asked for, or where the handle was."""
    moved = float(motion.angle_rad.min()), float(motion.angle_rad.max())
    spans = []
    for mark in recording.marks:
        if mark.kind == "pain":
            spans.append(
                span_around(
                    read_angle_rad(mark.text, "mark of pain")
                    if mark.text
                    else float(np.interp(mark.start_s, motion.time_s, motion.angle_rad)),
                    moved,
                )
            )
    return tuple(spans)

"""Whether recordings are what a profile is made of: each once, of one machine, moved by nobody else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from feltload.acquisition import Recording
from feltload.app.errors import UsageError
from feltload.calibration import (
    AgreementFact,
    CalibrationError,
    Gravity,
    Machine,
    MachineError,
    agreement_facts,
    compare_coarsely,
    parse_machine,
    strange_load,
)
from feltload.core import Fact, Severity
from feltload.signal import HingeFact, ProfileEstimate, ProfileFact, Session, ZeroFact

OF_A_PERSON = {
    "holds": ("holds against a fixed arm", "give it to `feltload client capacity`"),
    "helped": ("a set helped by hand", "give it to `feltload client delivered`"),
}
"""Kind of recording that shows a person -> what it is, and what it is for."""


SENSOR_FAULTS = (
    HingeFact.AT_LIMIT,
    HingeFact.SENSOR_MOVED,
    HingeFact.SLIPPED_ABOUT_HINGE,
    HingeFact.REST_CHANGED,
    HingeFact.NOT_A_HINGE,
    ZeroFact.AT_LIMIT,
    ZeroFact.NOT_TARED,
    AgreementFact.UNIT_LOOKS_WRONG,
)


def require_right_recordings(paths: Sequence[Path], recordings: Sequence[Recording]) -> None:
    """Refuse recordings that do not make one profile.

    Raises
    ------
    UsageError
        One of a person, one of a sensor alone, one that is named twice, or two of different machines.
    """
    for path, recording in zip(paths, recordings, strict=True):
        require_both_sensors(path, recording)
        if recording.info.kind in OF_A_PERSON:
            what, use = OF_A_PERSON[recording.info.kind]
            raise UsageError(
                f"was recorded as {what}: its force is not the machine's alone",
                where=str(path),
                remedy=f"{use}, and profile recordings of the machine",
            )
    _require_each_once(paths, recordings)
    _require_one_name(paths, recordings)


def require_both_sensors(path: Path, recording: Recording) -> None:
    """Refuse a recording of a load cell or an inertial sensor alone, as one for a calibration is.

    Raises
    ------
    UsageError
        Names the sensor that is missing.
    """
    for kind, missing in (("force", "a load cell"), ("inertial", "an inertial sensor")):
        if not recording.streams_of(kind):
            raise UsageError(
                f"holds no samples of {missing}; force and motion are needed in one recording",
                where=str(path),
                remedy="record both at once, or import both with --force and --imu",
            )


def _require_each_once(paths: Sequence[Path], recordings: Sequence[Recording]) -> None:
    seen: dict[str, Path] = {}
    for path, recording in zip(paths, recordings, strict=True):
        first = seen.setdefault(recording.samples_sha256, path)
        if first is not path:
            raise UsageError(
                f"holds the same samples as {first}; counted twice they would look more certain than they are",
                where=str(path),
                remedy="name each recording once",
            )


def _require_one_name(paths: Sequence[Path], recordings: Sequence[Recording]) -> None:
    first: tuple[str, Path] | None = None
    for path, recording in zip(paths, recordings, strict=True):
        name = machine_name(recording)
        if name is None:
            continue
        if first is None:
            first = name, path
        elif name != first[0]:
            raise UsageError(
                f"{first[1]} was recorded on {first[0]!r}, {path} on {name!r}: one profile is of one machine",
                remedy="profile each machine by itself, then compare them with `feltload compare`",
            )


def machine_name(recording: Recording) -> str | None:
    """Name of the machine that a recording was made on; None where it holds no machine file that can be read."""
    if recording.info.machine_toml is None:
        return None
    try:
        return parse_machine(recording.info.machine_toml).name
    except MachineError:
        return None


def doubts(
    profile: ProfileEstimate, machine: Machine, sessions: Sequence[Session], gravity: Gravity | None
) -> list[Fact]:
    """What measurement and machine file together say against the recordings, each fact led by theirs.

    Where they cannot be compared (too little travel, a machine file for the angle alone) nothing is said.

    Raises
    ------
    UsageError
        Where the recordings of one load cannot be of the machine that others fit.
    """
    try:
        agreement = compare_coarsely(profile, machine, gravity=gravity)
    except CalibrationError:
        return []
    strange = strange_load(agreement)
    if strange is not None:
        fitting = ", ".join(_named(sessions, strange.fitting_kg))
        raise UsageError(
            f"cannot be of the machine that {fitting} fits: whatever was loaded, at "
            f"{profile.travel.said(strange.angle_rad)} it is {abs(strange.difference_n):.0f} N off",
            where=", ".join(_named(sessions, strange.load_kg)),
            remedy="leave out recordings of another machine and helped sets",
        )
    facts = agreement_facts(agreement)
    return [replace(fact, session=", ".join(_named(sessions, fact.figure("stated_kg")))) for fact in facts]


def require_unhelped(paths: Sequence[Path], recordings: Sequence[Recording], facts: Sequence[Fact]) -> None:
    """Refuse recordings that look helped and do not say what they are.

    Raises
    ------
    UsageError
        Where the evidence is strong; says how to profile them all the same.
    """
    unsaid = [path.name for path, recording in zip(paths, recordings, strict=True) if not recording.info.kind]
    # What is wrong with a sensor explains what looks like hands, and is said first.
    if any(fact.severity is Severity.SERIOUS and fact.kind in SENSOR_FAULTS for fact in facts):
        return
    reason = next((words for fact in facts if (words := _looks_helped(fact)) is not None), None)
    if not unsaid or reason is None:
        return
    raise UsageError(
        f"looks like a set helped by hand: {reason}",
        where=", ".join(unsaid),
        remedy="give a helped set to `feltload client delivered`; if nobody helped, add --unhelped",
    )


def _looks_helped(fact: Fact) -> str | None:
    """What speaks strongly for somebody's hands; None where a joint that gives or a slow cell does it as well."""
    if fact.figures.get("gives") or "slow_hz" in fact.figures:
        return None
    if fact.kind == ProfileFact.HALF_REPETITIONS_DIFFER:
        return (
            f"{fact.figures['count']} of {fact.figures['of']} half-repetitions differ by about "
            f"{fact.figure('apart_n'):.0f} N from their profile"
        )
    if fact.kind == ProfileFact.HALF_REPETITIONS_LEFT_OUT and fact.figures["split"]:
        return (
            f"{fact.figures['count']} of {fact.figures['of']} half-repetitions ({fact.figures['way']}) differ by about "
            f"{abs(fact.figure('apart_n')):.0f} N from the others"
        )
    if fact.kind == AgreementFact.UNLIKE_MACHINE and not fact.figures.get("other_inertia"):
        more = "more" if fact.figure("difference_n") > 0 else "less"
        return (
            f"at {100.0 * fact.figure('travel_share'):.0f} % of the travel the force is "
            f"{abs(fact.figure('difference_n')):.0f} N "
            f"{more} than the machine file has it, and no plausible change of the file explains that (unless it lacks "
            "a spring, band, chain or damper, or is of another machine)"
        )
    return None


def _named(sessions: Sequence[Session], load_kg: float) -> list[str]:
    """Sessions with a load; none for a fact about all."""
    return [session.name for session in sessions if abs(session.load_kg - load_kg) < 1e-9]

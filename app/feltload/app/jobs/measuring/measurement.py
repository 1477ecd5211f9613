"""Recordings to a measured profile, with what it was made from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from feltload.acquisition import Recording
from feltload.app.errors import DamagedInputError, UsageError
from feltload.app.files.inputs import read_machine_text
from feltload.app.files.invented import is_invented
from feltload.app.files.provenance import (
    KeptCertificate,
    Options,
    PlaceGravity,
    Provenance,
    library_versions,
    software_revision,
    software_version,
)
from feltload.app.files.recordings import certificate_facts, open_recording, read_certificates
from feltload.app.jobs.measuring.field_checks import field_check_facts, field_check_records, field_checks_of
from feltload.app.jobs.measuring.fixed_arm import holds_remark
from feltload.app.jobs.measuring.right_recordings import (
    doubts,
    require_right_recordings,
    require_unhelped,
)
from feltload.app.jobs.measuring.sources import expired_certificates, machine_replaced, recording_source
from feltload.app.jobs.mechanism_limits import require_possible
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.calibration import Gravity, Machine, parse_machine, reference_of
from feltload.core import unique_facts
from feltload.signal import ProfileEstimate, Session, SignalError


@dataclass(frozen=True)
class Measurement:
    """A measured machine, before anything of it is written.

    Attributes
    ----------
    estimate : ProfileEstimate
        The measured machine.
    machine : Machine
        The machine file that tied the angle to the machine.
    provenance : Provenance
        What it was made from.
    """

    estimate: ProfileEstimate
    machine: Machine
    provenance: Provenance


def measure(
    paths: Sequence[Path],
    *,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: str | None = None,
    both_sides: bool = False,
    certificates: Sequence[Path] = (),
    accept_expired: bool = False,
    unhelped: bool = False,
    gravity: Gravity | None = None,
    advance: Callable[[float], None] = lambda done: None,
) -> Measurement:
    """Estimate a machine's profile from recordings.

    Parameters
    ----------
    paths : sequence of Path
        Recordings; several loads let other loads be predicted.
    replaced : ReplacedFiles
        Rig file and machine file to use in place of those in the recordings.
    side : {"left", "right"}, optional
        Arm to measure, when the recordings hold both.
    both_sides : bool
        Refuse recordings whose sensors are not marked by side: one arm would be treated as both.
    certificates : sequence of Path
        Calibration certificates that add to or replace those in the recordings, as FILE or STREAM=FILE.
    accept_expired : bool
        Use certificates past their expiry.
    unhelped : bool
        Nobody helped in recordings that do not say so, though their force looks it.
    gravity : Gravity, optional
        Gravity where it was recorded, kept with the result.
    advance : callable
        Told how many of ``len(paths) + 1`` steps are done.

    Raises
    ------
    UsageError
        If no machine file is known, or the recordings carry different ones, lack a side, or look helped.
    FeltloadError
        As the reading and the estimation raise.
    """
    from feltload.signal import estimate

    if not paths:
        raise UsageError("no recording named", remedy="name at least one .mcap file")
    given = read_certificates(certificates)
    recordings: list[Recording] = []
    for done, path in enumerate(paths):
        advance(done)
        recordings.append(
            open_recording(path, rig=replaced.rig, certificates=given, accept_expired=accept_expired)
        )
    require_right_recordings(paths, recordings)
    if both_sides:
        _require_both(recordings, paths)
    machine, machine_toml = _machine(recordings, paths, replaced.machine)
    damage = tuple(
        replace(fact, session=path.name)
        for path, recording in zip(paths, recordings, strict=True)
        for fact in recording.damage
    )
    try:
        sessions = [
            Session.from_recording(recording, side=side, name=path.stem)
            for path, recording in zip(paths, recordings, strict=True)
        ]
        held = [
            holds_remark(path, session, tuple(recording.marks))
            for path, session, recording in zip(paths, sessions, recordings, strict=True)
        ]
        advance(len(paths))
        checks = [field_checks_of(recording, gravity) for recording in recordings]
        profile = estimate(sessions, reference=reference_of(machine))
    except SignalError as error:
        # What is missing may be what was lost.
        if not damage:
            raise
        raise DamagedInputError(error, damage) from error
    require_possible(profile, machine, where=", ".join(path.name for path in paths))
    against = doubts(profile, machine, sessions, gravity)
    if not unhelped:
        require_unhelped(paths, recordings, (*against, *profile.warnings))
    records = field_check_records(paths, checks)
    profile = replace(
        profile,
        health=replace(profile.health, field_checks=records),
        warnings=(
            *against,
            *damage,
            *profile.warnings,
            *(remark for remark in held if remark is not None),
            *field_check_facts(records),
        ),
    )
    provenance = Provenance(
        feltload=software_version(),
        revision=software_revision(),
        recordings=tuple(
            recording_source(path, recording, side, of_recording)
            for path, recording, of_recording in zip(paths, recordings, checks, strict=True)
        ),
        libraries=library_versions(),
        options=Options(
            side=side,
            both_sides=both_sides,
            accept_expired=accept_expired,
            unhelped=unhelped,
            machine_replaced=replaced.machine is not None,
            rig_toml=None if replaced.rig is None else replaced.rig.read_text(encoding="utf-8"),
            certificates=tuple(
                KeptCertificate(name=item.name, text=item.text, stream=item.stream) for item in given
            ),
        ),
        machine_toml=machine_toml,
        invented=any(is_invented(recording) for recording in recordings),
        gravity=None if gravity is None else PlaceGravity.of(gravity),
        remarks=unique_facts(
            (
                *machine_replaced(replaced.machine, machine_toml, recordings),
                *(fact for recording in recordings for fact in certificate_facts(recording)),
                *(fact for recording in recordings for fact in expired_certificates(recording)),
            )
        ),
    )
    return Measurement(profile, machine, provenance)


def _require_both(recordings: Sequence[Recording], paths: Sequence[Path]) -> None:
    for recording, path in zip(recordings, paths, strict=True):
        if not {"left", "right"} <= {stream.side for stream in recording.info.rig.streams}:
            raise UsageError(
                "its sensors are not marked left and right",
                where=str(path),
                remedy="leave out --side, or give each stream its side in the rig file and record again",
            )


def _machine(
    recordings: Sequence[Recording], paths: Sequence[Path], machine_path: Path | None
) -> tuple[Machine, str]:
    if machine_path is not None:
        text = read_machine_text(machine_path)
        return parse_machine(text, str(machine_path)), text
    texts = {recording.info.machine_toml for recording in recordings}
    if texts == {None}:
        raise UsageError(
            "holds no machine file, so the angle cannot be tied to the machine",
            where=str(paths[0]),
            remedy="name one with --machine",
        )
    if len(texts) > 1:
        raise UsageError(
            "the recordings hold different machine files", remedy="name the one to use with --machine"
        )
    text = next(iter(texts)) or ""
    return parse_machine(text, f"{paths[0]}: machine.toml"), text

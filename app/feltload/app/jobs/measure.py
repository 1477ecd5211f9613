"""Recordings to a measured profile, with what it was made from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from feltload.acquisition import GivenCertificate, Recording, assign_certificates, read_recording
from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_certificates
from feltload.app.files.invented import is_invented
from feltload.app.files.provenance import (
    FieldCheckState,
    PlaceGravity,
    Provenance,
    RecordingSource,
    StreamState,
    file_sha256,
    software_version,
    text_sha256,
)
from feltload.app.jobs.field_checks import field_check_health, field_check_warnings, field_checks_of
from feltload.app.jobs.fixed_arm import holds_remark
from feltload.calibration import GeometryError, Gravity, Machine, load_machine, parse_machine
from feltload.signal import HandleTravel, ProfileError, ProfileEstimate, Reference, Session, SignalError

if TYPE_CHECKING:
    from feltload.acquisition import StreamHealth

WIDEST_TRAVELS_DEG = (150.0, 120.0, 100.0, 80.0, 60.0)
"""Rotations tried for the handle's travel: a linkage or a fixed line of pull need not go as far as the first."""


@dataclass(frozen=True)
class Measured:
    """A result before it is written.

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
    machine_path: Path | None = None,
    side: str | None = None,
    both_sides: bool = False,
    certificates: Sequence[Path] = (),
    accept_expired: bool = False,
    gravity: Gravity | None = None,
    advance: Callable[[float], None] = lambda done: None,
) -> Measured:
    """Estimate a machine's profile from recordings.

    Parameters
    ----------
    paths : sequence of Path
        Recordings; several loads let other loads be predicted.
    machine_path : Path, optional
        Machine file to use in place of the one in the recordings.
    side : {"left", "right"}, optional
        Arm to measure, when the recordings hold both.
    both_sides : bool
        Refuse recordings whose sensors are not told apart by side: one arm would be taken for both.
    certificates : sequence of Path
        Calibration certificates that add to or replace those in the recordings, as FILE or STREAM=FILE.
    accept_expired : bool
        Use certificates past their expiry.
    gravity : Gravity, optional
        Gravity where it was recorded, kept with the result.
    advance : callable
        Told how many of ``len(paths) + 1`` steps are done.

    Raises
    ------
    UsageError
        If no machine file is known, or the recordings carry different ones, or lack a side.
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
        recordings.append(_read(path, given, accept_expired=accept_expired))
    if both_sides:
        _require_both(recordings, paths)
    machine, text = _machine(recordings, paths, machine_path)
    sessions = [
        Session.from_recording(recording, side=side, name=path.stem)
        for path, recording in zip(paths, recordings, strict=True)
    ]
    mixed = [
        holds_remark(path, session, tuple(recording.marks))
        for path, session, recording in zip(paths, sessions, recordings, strict=True)
    ]
    advance(len(paths))
    checks = [field_checks_of(recording, gravity) for recording in recordings]
    try:
        result = estimate(sessions, reference=reference_of(machine))
    except SignalError as error:
        # What is missing may be what was lost.
        damage = [f"{p.name}: {r.damage}" for p, r in zip(paths, recordings, strict=True) if r.damage]
        raise error.with_context(what="; ".join(damage)) from error
    result = replace(
        result,
        health={**result.health, **field_check_health(paths, checks)},
        warnings=(
            *result.warnings,
            *(remark for remark in mixed if remark is not None),
            *field_check_warnings(paths, checks),
        ),
    )
    provenance = Provenance(
        feltload=software_version(),
        recordings=tuple(
            _source(path, item, side, found)
            for path, item, found in zip(paths, recordings, checks, strict=True)
        ),
        machine_toml=text,
        invented=any(is_invented(recording) for recording in recordings),
        gravity=None if gravity is None else PlaceGravity.of(gravity),
        remarks=tuple(dict.fromkeys(remark for recording in recordings for remark in _expiries(recording))),
    )
    return Measured(result, machine, provenance)


def _require_both(recordings: Sequence[Recording], paths: Sequence[Path]) -> None:
    for recording, path in zip(recordings, paths, strict=True):
        if not {"left", "right"} <= {stream.side for stream in recording.info.rig.streams}:
            raise UsageError(
                "its sensors are not marked left and right",
                where=str(path),
                remedy="leave out --side, or give each stream its side in the rig file and record again",
            )


def _read(path: Path, certificates: Sequence[GivenCertificate], *, accept_expired: bool) -> Recording:
    """A recording with the certificates that were named for its sensors."""
    recording = read_recording(path, accept_expired=accept_expired)
    if not certificates:
        return recording
    # Which sensor a certificate belongs to is known only once the recording has been opened.
    assigned = assign_certificates(certificates, recording.info.rig.streams)
    return read_recording(path, certificates=assigned, accept_expired=accept_expired)


def _expiries(recording: Recording) -> list[str]:
    """Certificates that had expired when it was recorded (accepted on purpose: else it would not be read)."""
    if not recording.info.started_utc:
        return []
    day = dt.date.fromisoformat(recording.info.started_utc[:10])
    used = [recording.certificate(stream.name) for stream in recording.info.rig.streams]
    return [
        f"the certificate of {certificate.serial} expired on {certificate.expires_on}, before the recording "
        f"of {day}; it was accepted on purpose"
        for certificate in used
        if certificate is not None and day > certificate.expires_on
    ]


def reference_of(machine: Machine) -> Reference:
    """What a machine file says about the angle and the handle."""
    from feltload.calibration import START_ANGLE

    start = machine.parameter(START_ANGLE)
    travel = machine.terms(np.array([0.0, 0.5, 1.0]), 0.0).handle.travel
    constant = float(np.ptp(travel)) <= 1e-9 * abs(float(travel[0]))
    return Reference(
        machine_name=machine.name,
        start_angle_rad=start.value,
        u_start_angle_rad=start.u,
        handle_radius_m=float(travel[0]) if constant else None,
        handle_travel=_handle_travel(machine),
    )


def _handle_travel(machine: Machine) -> HandleTravel | None:
    """How far the handle goes per radian, over as much of the rotation as the mechanism allows."""
    for span_deg in WIDEST_TRAVELS_DEG:
        q = np.radians(np.linspace(0.0, span_deg, 61))
        try:
            return HandleTravel(q, machine.terms(q, 0.0).handle.travel)
        except (GeometryError, ProfileError):
            continue
    return None


def _machine(
    recordings: Sequence[Recording], paths: Sequence[Path], machine_path: Path | None
) -> tuple[Machine, str]:
    if machine_path is not None:
        machine = load_machine(machine_path)
        return machine, machine_path.read_text(encoding="utf-8")
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


def _source(
    path: Path, recording: Recording, side: str | None, field_checks: tuple[FieldCheckState, ...]
) -> RecordingSource:
    return RecordingSource(
        name=path.name,
        sha256=file_sha256(path),
        load_kg=recording.info.load_kg,
        started_utc=recording.info.started_utc,
        notes=recording.info.notes,
        damage=recording.damage,
        streams=tuple(_state(health) for health in recording.health.values()),
        field_checks=field_checks,
        force_certificates=_force_certificates(recording, side),
    )


def _force_certificates(recording: Recording, side: str | None) -> tuple[str, ...]:
    """Hashes of the certificates of the load cells; empty where one of them has none."""
    used = [recording.certificate(name) for name in recording.streams_of("force", side=side)]
    known = [text_sha256(item.model_dump_json()) for item in used if item is not None]
    return tuple(sorted(set(known))) if len(known) == len(used) else ()


def _state(health: StreamHealth) -> StreamState:
    return StreamState(
        name=health.name,
        samples=health.samples,
        rate_hz=health.rate_hz if np.isfinite(health.rate_hz) else None,
        faults=tuple(line.removeprefix(f"{health.name}: ") for line in health.warnings()),
    )

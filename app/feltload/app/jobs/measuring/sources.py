"""What a result keeps about each recording that it was made from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from feltload.acquisition import Recording
from feltload.app.files.provenance import (
    FieldCheckState,
    RecordingSource,
    StreamState,
    file_sha256,
    text_sha256,
)
from feltload.app.jobs.facts import InputFact
from feltload.core import Fact, Severity

if TYPE_CHECKING:
    from feltload.acquisition import StreamHealth


def recording_source(
    path: Path, recording: Recording, side: str | None, field_checks: tuple[FieldCheckState, ...]
) -> RecordingSource:
    """What is kept of one recording."""
    return RecordingSource(
        name=path.name,
        sha256=file_sha256(path),
        load_kg=recording.load_kg,
        load_stated=recording.info.load_stated,
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
        faults=health.facts(),
    )


def expired_certificates(recording: Recording) -> list[Fact]:
    """Certificates that had expired when it was recorded (accepted on purpose: else it would not be read)."""
    if not recording.info.started_utc:
        return []
    day = dt.date.fromisoformat(recording.info.started_utc[:10])
    used = [recording.certificate(stream.name) for stream in recording.info.rig.streams]
    return [
        Fact(
            InputFact.CERTIFICATE_EXPIRED,
            figures={
                "serial": certificate.serial,
                "expired_on": certificate.expires_on.isoformat(),
                "recorded_on": day.isoformat(),
            },
        )
        for certificate in used
        if certificate is not None and day > certificate.expires_on
    ]


def machine_replaced(path: Path | None, text: str, recordings: Sequence[Recording]) -> tuple[Fact, ...]:
    """That a machine file is used in place of another one in the recordings; nothing where it is the same."""
    if path is None or all(recording.info.machine_toml in (None, text) for recording in recordings):
        return ()
    return (Fact(InputFact.MACHINE_REPLACED, Severity.NOTE, figures={"file": path.name}),)

"""Force and lever motion of a recording on one clock: a table for analysis, a C3D file for motion-capture software."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

from feltload.acquisition import (
    AnalogChannel,
    C3dEvent,
    C3dSession,
    Recording,
    export_recording,
    write_c3d,
    write_table,
)
from feltload.calibration import parse_machine, reference_of
from feltload.signal import JoinedTable, SignalError, joined_table

NAME = "joined"


def sides_of(recording: Recording) -> tuple[str | None, ...]:
    """Arms of which a recording has force and motion: none, one that need not be named, or left and right."""
    both = [
        side
        for side in ("left", "right")
        if recording.streams_of("force", side) and recording.streams_of("inertial", side)
    ]
    if len(recording.streams_of("force")) == len(recording.streams_of("inertial")) == 1:
        return (None,)
    return tuple(both)


def joined_of(recording: Recording, *, side: str | None, rate_hz: float) -> JoinedTable:
    """The joined table of one arm, with the angle of the machine file that the recording holds."""
    machine_toml = recording.info.machine_toml
    reference = None if machine_toml is None else reference_of(parse_machine(machine_toml, recording.where))
    return joined_table(recording, reference=reference, side=side, rate_hz=rate_hz)


def joined_names(recording: Recording, format: str) -> list[str]:
    """Files that an export of the joined tables writes."""
    return [f"{_name(side)}.{format}" for side in sides_of(recording)]


def _name(side: str | None) -> str:
    return NAME if side is None else f"{NAME}-{side}"


def export_tables(
    recording: Recording,
    folder: Path,
    joined: Mapping[str, JoinedTable],
    *,
    format: Literal["csv", "parquet"],
    overwrite: bool,
) -> list[Path]:
    """Write joined tables by their names, beside the streams as they were sampled."""
    paths = [folder / f"{name}.{format}" for name in joined]
    stated = {path.name: _stated(table) for path, table in zip(paths, joined.values(), strict=True)}
    rest = export_recording(recording, folder, format=format, joined=stated, overwrite=overwrite)
    for path, table in zip(paths, joined.values(), strict=True):
        frame = table.frame.astype({"phase": "string"})
        write_table(frame, path, format=format, private=recording.info.is_about_a_person)
    return [*paths, *rest]


def joined_tables(
    recording: Recording, *, rate_hz: float
) -> tuple[dict[str, JoinedTable], dict[str, SignalError]]:
    """Joined tables of all arms by name, and why those are missing that cannot be made."""
    tables: dict[str, JoinedTable] = {}
    missing: dict[str, SignalError] = {}
    for side in sides_of(recording):
        try:
            tables[_name(side)] = joined_of(recording, side=side, rate_hz=rate_hz)
        except SignalError as error:
            missing[_name(side)] = error
    return tables, missing


def _stated(table: JoinedTable) -> dict[str, object]:
    """What recording.json says of a joined table."""
    lag = table.lag
    return {
        "rate_hz": table.rate_hz,
        "time_s": "host-clock-from-start",
        "lag_s": None if lag is None else lag.value_s,
        "lag_u_s": None if lag is None else lag.u_s,
        "repetitions": len(table.repetitions),
        "facts": [fact.to_dict() for fact in table.facts],
    }


def write_motion(recording: Recording, joined: JoinedTable, path: Path, *, overwrite: bool) -> Path:
    """Write the joined table as a C3D file, with its events and what is known of the session."""
    frame, session = joined.frame, joined.session
    first_s = float(frame["time_s"].iloc[0])
    known = session.force_uncertainty
    write_c3d(
        path,
        [
            AnalogChannel("force", "N", frame["force_n"].to_numpy(float), "at the handle, zero taken off"),
            AnalogChannel("angle", "deg", frame["angle_deg"].to_numpy(float), "of the lever"),
            AnalogChannel("rate", "rad/s", frame["rate_rad_s"].to_numpy(float), "of the lever"),
            AnalogChannel("acceleration", "rad/s2", frame["accel_rad_s2"].to_numpy(float), "of the lever"),
        ],
        rate_hz=joined.rate_hz,
        events=[event for event in _events(recording, joined, first_s) if event.time_s >= 0.0],
        session=C3dSession(
            side=session.side,
            numbers={
                "LOAD_KG": session.load_kg,
                "LOAD_U_KG": float("nan") if session.load_u_kg is None else session.load_u_kg,
                "ZERO_U_N": known.zero_n,
                "GAIN_U": known.gain,
                "LAG_S": float("nan") if joined.lag is None else joined.lag.value_s,
                "START_S": first_s,
            },
            texts={
                "STARTED_UTC": recording.info.started_utc,
                "SAMPLES_SHA256": recording.samples_sha256,
                "CERTIFICATE": known.certificate_serial,
                "KIND": recording.info.kind or "",
                "INVENTED": "yes" if recording.info.rig.invented else "no",
            },
        ),
        overwrite=overwrite,
        private=recording.info.is_about_a_person,
    )
    return path


def _events(recording: Recording, joined: JoinedTable, first_s: float) -> Sequence[C3dEvent]:
    """Marks and the turning points of the repetitions, in order of time."""
    events = []
    for mark in recording.marks:
        events.append(C3dEvent(mark.kind, mark.start_s - first_s, mark.text))
        if mark.until_s is not None and mark.until_s > mark.start_s:
            events.append(C3dEvent(f"{mark.kind} end", mark.until_s - first_s))
    for each in joined.repetitions:
        events.append(C3dEvent("concentric start", each.start_s - first_s, f"repetition {each.index + 1}"))
        events.append(C3dEvent("concentric end", each.turn_s - first_s, f"repetition {each.index + 1}"))
        if each.eccentric_s > 0.0:
            events.append(C3dEvent("eccentric end", each.end_s - first_s, f"repetition {each.index + 1}"))
    return sorted(events, key=lambda event: event.time_s)

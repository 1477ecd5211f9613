"""A request to record, from what a person fills in: read and checked before any sensor is opened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

from feltload.acquisition import GivenCertificate, RecordingInfo, RigDescription, assign_certificates
from feltload.app.errors import OutputExistsError
from feltload.app.files.inputs import read_load
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.options import NOBODY, PersonOptions
from feltload.app.sessions.script_choice import PreparedScript, prepare_script


def filled_in_request(
    *,
    rig: RigDescription,
    machine_toml: str,
    load: str,
    out: Path,
    kind: Literal["machine", "holds", "helped"] = "machine",
    side: Literal["left", "right"] | None = None,
    notes: str = "",
    tempo: str | None = None,
    person: PersonOptions = NOBODY,
    certificates: Sequence[GivenCertificate] = (),
    tare_s: float = 3.0,
    duration_s: float | None = None,
) -> tuple[RecordingRequest, PreparedScript]:
    """Check what was filled in.

    Parameters
    ----------
    rig : RigDescription
    machine_toml : str
        Text of the machine file.
    load : str
        Mass loaded, such as "40 kg" or "90 lb".
    out : Path
        Recording to write; must not exist.
    kind : {"machine", "holds", "helped"}
    side : {"left", "right"}, optional
        Arm that is moved, on a machine with two.
    notes, tempo : str, optional
        Kept with it.
    person : PersonOptions
        What holds or a helped set go by.
    certificates : sequence of GivenCertificate
        As `read_certificates` gives them.
    tare_s, duration_s : float, optional
        As in `RecordingRequest`.

    Returns
    -------
    RecordingRequest
    PreparedScript
        With cautions, what lies ahead and the question that come before `LiveSession.start`.

    Raises
    ------
    FeltloadError
        One line that says which of it cannot be, and what to do.
    """
    mass = read_load(load, "load")
    info = RecordingInfo(
        load_kg=mass.value,
        load_u_kg=mass.u,
        load_stated=mass.text,
        rig=rig,
        side=side,
        tempo=tempo,
        notes=notes,
        kind=kind,
        machine_toml=machine_toml,
        certificates=assign_certificates(certificates, rig.streams),
    )
    if out.exists():
        raise OutputExistsError(out)
    prepared = prepare_script(info, person, profile_alone=True)
    return RecordingRequest(info, out, tare_s=tare_s, duration_s=duration_s, person=person), prepared


def with_other_load(request: RecordingRequest, load: str, out: Path) -> RecordingRequest:
    """The same once more with another load, or with the same one: a profile takes a recording for each.

    Start it with the recordings of before as `earlier`.

    Parameters
    ----------
    request : RecordingRequest
        Of before.
    load : str
        Mass loaded now, such as "60 kg".
    out : Path
        Recording to write; must not exist.

    Raises
    ------
    InputError, OutputExistsError
        The load is none, or the file is there.
    """
    mass = read_load(load, "load")
    if out.exists():
        raise OutputExistsError(out)
    info = replace(request.info, load_kg=mass.value, load_u_kg=mass.u, load_stated=mass.text)
    return replace(request, info=info, out=out)

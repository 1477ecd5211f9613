"""What a person says about a session, as a recording keeps it: twice, each copy with its own digest."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recording.attached import AttachedFile, attach_files, file_values, sound_files
from feltload.acquisition.recording.contents import ContainerContents
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.recording.file import ContainerWriter
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.core import Fact, InputError, Severity

__all__ = ["RecordingInfo", "StoredInfo", "read_info", "write_info"]

FORMAT = "feltload-recording-1"
_NAME, _COPY = "feltload", "feltload-copy"
_DIGEST = "sha256"
_EMULATED_BEFORE_THE_FLAG = ", emulated (invented)"
_RIG, _MACHINE, _CERTIFICATES, _FILES = "rig.json", "machine.toml", "certificates/", "files/"


@dataclass(frozen=True)
class RecordingInfo:
    """What a person says about a session, and the files that belong to it.

    Parameters
    ----------
    load_kg : float or None
        Mass loaded on the machine; None where none was, as with a sensor alone.
    rig : RigDescription
    load_u_kg : float, optional
        Standard uncertainty of the load.
    side : {"left", "right"}, optional
        The arm that was moved; None for both or a machine with one.
    tempo : str, optional
        Tempo plan, such as "3-1-3".
    notes : str
    started_utc : str
        ISO 8601, wall clock at the start.
    machine_toml : str, optional
        Text of the machine file.
    certificates : dict of str to str
        JSON texts of calibration certificates by name.
    kind : {"machine", "holds", "helped"}, optional
        A machine's sweep, a person's maximal holds, or a set with help by hand; None where nobody said, as in
        recordings of before it was asked.
    load_stated : str
        The load as it was written, such as "88 lb"; empty in recordings of before it was kept.
    files : dict of str to bytes
        The files of a logger that it was made of, as they were, by name.
    """

    load_kg: float | None
    rig: RigDescription
    load_u_kg: float | None = None
    side: str | None = None
    tempo: str | None = None
    notes: str = ""
    started_utc: str = ""
    machine_toml: str | None = None
    certificates: Mapping[str, str] = field(default_factory=dict)
    kind: str | None = None
    load_stated: str = ""
    files: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def is_about_a_person(self) -> bool:
        """Whether it shows what one person can do, which is for the owner's eyes alone."""
        return self.kind in ("holds", "helped")

    def required_load_kg(self, where: str) -> float:
        """Mass loaded on the machine.

        Raises
        ------
        InputError
            None is stated, as of a sensor alone.
        """
        if self.load_kg is None:
            raise InputError(
                "states no load: it was made of a sensor alone",
                where=where,
                remedy='record it on the machine, or import it again with --load, such as --load "40 kg"',
            )
        return self.load_kg


@dataclass(frozen=True)
class StoredInfo:
    """What was read of it.

    Parameters
    ----------
    info : RecordingInfo
    start_ns : int or None
        Host time that counts as the start; None for that of the earliest message.
    damage : tuple of Fact
        What was damaged, of kinds `DamageFact`.
    damaged_certificates : frozenset of str
        Names of certificates that are there but cannot be trusted.
    """

    info: RecordingInfo
    start_ns: int | None
    damage: tuple[Fact, ...]
    damaged_certificates: frozenset[str]


def write_info(file: ContainerWriter, info: RecordingInfo, start_ns: int | None) -> None:
    """Write it at the beginning of a recording."""
    started = info.started_utc or dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds")
    files = {_RIG: AttachedFile("application/json", info.rig.model_dump_json().encode())}
    if info.machine_toml is not None:
        files[_MACHINE] = AttachedFile("application/toml", info.machine_toml.encode())
    for name, text in info.certificates.items():
        files[f"{_CERTIFICATES}{name}.json"] = AttachedFile("application/json", text.encode())
    for name, data in info.files.items():
        files[f"{_FILES}{name}"] = AttachedFile("text/csv", data, twice=False)
    values = {
        "format": FORMAT,
        "load_kg": "" if info.load_kg is None else repr(float(info.load_kg)),
        "load_stated": info.load_stated,
        "load_u_kg": "" if info.load_u_kg is None else repr(float(info.load_u_kg)),
        "side": info.side or "",
        "tempo": info.tempo or "",
        "notes": info.notes,
        "kind": info.kind or "",
        "started_utc": started,
        "start_ns": "" if start_ns is None else str(start_ns),
        **file_values(files),
    }
    values[_DIGEST] = _digest(values)
    file.describe(_NAME, values)
    file.describe(_COPY, values)
    attach_files(file, files)


def read_info(
    contents: ContainerContents, path: Path, *, rig: RigDescription | None = None, rig_from: str = ""
) -> StoredInfo:
    """Read it, and compare it with its digests.

    Parameters
    ----------
    contents : ContainerContents
    path : Path
    rig : RigDescription, optional
        To be used in place of the one kept in it.
    rig_from : str
        Its file.

    Raises
    ------
    RecordingError
        The file is no recording, or what cannot be done without is missing or damaged: load, rig, start.
    """
    values, damage = _values(contents, path)
    if values.get("format") != FORMAT:
        raise RecordingError(
            f'format "{values.get("format")}" is not known', where=str(path), remedy="update feltload"
        )
    try:
        kept = sound_files(contents, values)
    except (ValueError, TypeError):
        raise _damaged("its list of files", path) from None
    damage += kept.damage
    lost = kept.lost
    if rig is None and _RIG not in kept.data:
        raise _damaged("the description of its sensors (rig.json)", path, "give the rig file with --rig")
    if rig is not None:
        damage.append(Fact(DamageFact.SENSORS_REPLACED, Severity.NOTE, figures={"file": rig_from}))
    if _MACHINE in lost:
        damage.append(Fact(DamageFact.MACHINE_FILE_LEFT_OUT))
    names = {
        name.removeprefix(_CERTIFICATES).removesuffix(".json")
        for name in lost
        if name.startswith(_CERTIFICATES)
    }
    damage += [Fact(DamageFact.CERTIFICATE_DAMAGED, figures={"certificate": name}) for name in sorted(names)]
    if any(name.startswith(_FILES) for name in lost):
        damage.append(Fact(DamageFact.ATTACHMENT_DAMAGED, Severity.NOTE))
    try:
        whole = kept.data
        files = {name: data.decode() for name, data in whole.items() if not name.startswith(_FILES)}
        if values["started_utc"]:
            dt.datetime.fromisoformat(values["started_utc"])
        info = RecordingInfo(
            load_kg=float(values["load_kg"]) if values["load_kg"] else None,
            rig=_rig(files[_RIG]) if rig is None else rig,
            load_u_kg=float(values["load_u_kg"]) if values["load_u_kg"] else None,
            side=values["side"] or None,
            tempo=values["tempo"] or None,
            notes=values["notes"],
            started_utc=values["started_utc"],
            machine_toml=files.get(_MACHINE),
            certificates={
                name.removeprefix(_CERTIFICATES).removesuffix(".json"): text
                for name, text in files.items()
                if name.startswith(_CERTIFICATES)
            },
            kind=values.get("kind") or None,
            load_stated=values.get("load_stated", ""),
            files={
                name.removeprefix(_FILES): data for name, data in whole.items() if name.startswith(_FILES)
            },
        )
        start_ns = int(values["start_ns"]) if values.get("start_ns") else None
    except (ValidationError, KeyError, ValueError) as error:
        raise _damaged(f"its description ({str(error).splitlines()[0]})", path) from None
    return StoredInfo(info, start_ns, tuple(damage), frozenset(names))


def _values(contents: ContainerContents, path: Path) -> tuple[dict[str, str], list[Fact]]:
    """The first sound copy, and what is wrong with the other."""
    copies = [copy for name in (_NAME, _COPY) if (copy := contents.metadata.get(name)) is not None]
    if not copies:
        cut = bool(contents.damage)
        raise RecordingError(
            "cut or damaged before anything that was recorded"
            if cut
            else "an MCAP file, but not a recording",
            where=str(path),
            remedy="record again" if cut else "give a file that feltload wrote",
        )
    if _COPY not in contents.metadata and _DIGEST not in copies[0]:
        # Recordings of before there was a digest.
        return copies[0], []
    sound = [copy for copy in copies if copy.get(_DIGEST) == _digest(copy)]
    if not sound:
        differ = sorted(key for key in set().union(*copies) if len({copy.get(key) for copy in copies}) > 1)
        raise _damaged(
            f"its description in both copies ({', '.join(differ) or 'one and the same value'})", path
        )
    damage = [] if len(sound) == 2 else [Fact(DamageFact.DESCRIPTION_COPY_DAMAGED, Severity.NOTE)]
    return sound[0], damage


def _rig(text: str) -> RigDescription:
    """The rig; those of emulated rigs from before the flag are known by the name that their own rig file gave them."""
    rig = RigDescription.model_validate_json(text)
    if "invented" not in rig.model_fields_set and rig.name.endswith(_EMULATED_BEFORE_THE_FLAG):
        return rig.model_copy(update={"invented": True})
    return rig


def _digest(values: Mapping[str, str]) -> str:
    """SHA-256 over all values but the digest itself, independent of their order."""
    stated = sorted((key, value) for key, value in values.items() if key != _DIGEST)
    return hashlib.sha256(json.dumps(stated, ensure_ascii=True).encode()).hexdigest()


def _damaged(what: str, path: Path, or_else: str = "record again") -> RecordingError:
    return RecordingError(
        f"{what} is damaged", where=str(path), remedy=f"take another copy of the file, or {or_else}"
    )

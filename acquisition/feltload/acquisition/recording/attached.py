"""Files in a recording, each with its digest in the description; what nothing can be read without is kept twice."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass

from feltload.acquisition.recording.contents import ContainerContents
from feltload.acquisition.recording.facts import DamageFact
from feltload.acquisition.recording.file import ContainerWriter
from feltload.core import Fact, Severity

__all__ = ["AttachedFile", "SoundFiles", "attach_files", "file_values", "sound_files"]

_COPY = "copy/"
_NAMES, _TWICE, _DIGESTS = "attachments", "copied", "digests"


@dataclass(frozen=True)
class AttachedFile:
    """A file to be kept; `twice` where nothing could be read without it."""

    media_type: str
    data: bytes
    twice: bool = True


@dataclass(frozen=True)
class SoundFiles:
    """The files of a recording as they were.

    Parameters
    ----------
    data : dict of bytes
        By name.
    lost : frozenset of str
        Names of those that are damaged or missing.
    damage : tuple of Fact
        Copies that are damaged while the other one is not.
    """

    data: Mapping[str, bytes]
    lost: frozenset[str]
    damage: tuple[Fact, ...] = ()


def file_values(files: Mapping[str, AttachedFile]) -> dict[str, str]:
    """What the description says of them."""
    digests = {name: hashlib.sha256(file.data).hexdigest() for name, file in files.items()}
    twice = [name for name, file in files.items() if file.twice]
    return {_NAMES: json.dumps([*files]), _TWICE: json.dumps(twice), _DIGESTS: json.dumps(digests)}


def attach_files(target: ContainerWriter, files: Mapping[str, AttachedFile]) -> None:
    """Write them; the copies after all of them, so that they lie apart."""
    for name, file in files.items():
        target.attach(name, file.media_type, file.data)
    for name, file in files.items():
        if file.twice:
            target.attach(f"{_COPY}{name}", file.media_type, file.data)


def sound_files(contents: ContainerContents, values: Mapping[str, str]) -> SoundFiles:
    """Compare what was read with what the description says of it.

    Raises
    ------
    ValueError, TypeError
        The description says nothing of use.
    """
    names = json.loads(values[_NAMES]) if _NAMES in values else [*contents.attachments]
    # Recordings of before there were copies have the container's checksums alone.
    digests: dict[str, str] = json.loads(values.get(_DIGESTS, "{}"))
    twice = json.loads(values.get(_TWICE, "[]"))
    data, lost, damage = {}, set(), []
    for name in names:
        copies = [copy for copy in (name, f"{_COPY}{name}") if copy in contents.attachments]
        sound = [
            contents.attachments[copy] for copy in copies if _is_sound(contents, copy, digests.get(name))
        ]
        if not sound:
            lost.add(name)
            continue
        data[name] = sound[0]
        if name in twice and len(sound) < 2:
            damage.append(Fact(DamageFact.FILE_COPY_DAMAGED, Severity.NOTE, figures={"file": name}))
    return SoundFiles(data, frozenset(lost), tuple(damage))


def _is_sound(contents: ContainerContents, name: str, digest: str | None) -> bool:
    if digest is None:
        return name not in contents.damaged_attachments
    return hashlib.sha256(contents.attachments[name]).hexdigest() == digest

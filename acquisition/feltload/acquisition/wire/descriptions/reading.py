"""Reading rig files (TOML) and the stream descriptions that ship with the package."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from feltload.acquisition.errors import DescriptionError
from feltload.acquisition.wire.descriptions.fields import AXES
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription
from feltload.core import parse_toml, read_text

__all__ = [
    "RigDescription",
    "StreamDescription",
    "load_rig",
    "load_stream_description",
    "shipped_descriptions",
]

LINK_TYPES = ("serial", "ble", "tcp", "udp", "program", "lsl", "file", "replay")
"""Names that a wrong key of a link is reported under, beside its own."""

Toml = dict[str, Any]
Model = TypeVar("Model", StreamDescription, RigDescription)


def shipped_descriptions() -> tuple[str, ...]:
    """Names of the stream descriptions that ship with the package."""
    folder = resources.files("feltload.acquisition.wire") / "descriptions"
    return tuple(sorted(item.name[:-5] for item in folder.iterdir() if item.name.endswith(".toml")))


def load_stream_description(name: str, *, changes: Mapping[str, object] | None = None) -> StreamDescription:
    """Read a shipped description by name, or a description file by path.

    Parameters
    ----------
    name : str
        One of `shipped_descriptions`, or the path of a TOML file.
    changes : mapping, optional
        Keys to put in place of the file's, as a rig file's ``[[streams]]`` table would.

    Raises
    ------
    DescriptionError
        If it does not exist or is wrong; names file, key and remedy.
    """
    table = {"description": name, **(changes or {})}
    return _validated(StreamDescription, _expanded(table, Path(), name), where=name)


def load_rig(path: str | Path) -> RigDescription:
    """Read a rig file.

    Parameters
    ----------
    path : path of a TOML file
        With ``name`` and one ``[[streams]]`` table per sensor. A table's ``description`` names a
        shipped description or a file beside the rig file; other keys replace the description's;
        ``set`` changes keys of single fields: ``set = {force = {unit = "N", scale = 0.0125}}``.

    Returns
    -------
    RigDescription

    Raises
    ------
    DescriptionError
        Names the file, the key and the remedy.
    """
    path = Path(path)
    text = read_text(path, DescriptionError, missing="no such rig file")
    return _rig_from_text(text, where=str(path), folder=path.parent)


def _rig_from_text(text: str, *, where: str, folder: Path) -> RigDescription:
    """Build a rig from the text of a rig file; `folder` is where description files are looked for."""
    table = _parsed(text, where)
    streams = table.get("streams")
    if not isinstance(streams, list) or not streams:
        raise DescriptionError("no streams", where=where, remedy="add a [[streams]] table for each sensor")
    expanded = []
    for number, stream in enumerate(streams):
        if not isinstance(stream, dict):
            raise DescriptionError("must be a table", where=f"{where}: streams[{number}]")
        expanded.append(_expanded(stream, folder, f"{where}: streams[{number}]"))
    return _validated(RigDescription, {**table, "streams": expanded}, where=where)


def _parsed(text: str, where: str) -> Toml:
    return parse_toml(text, DescriptionError, where=where, remedy="correct that line")


def _base(name: str, folder: Path, where: str) -> Toml:
    if name in shipped_descriptions():
        source = resources.files("feltload.acquisition.wire") / "descriptions" / f"{name}.toml"
        return _parsed(source.read_text(encoding="utf-8"), name)
    path = folder / name
    if not path.is_file():
        raise DescriptionError(
            f'no description "{name}"',
            where=where,
            remedy=f"give a file, or one of {', '.join(shipped_descriptions())}",
        )
    return _parsed(read_text(path, DescriptionError), str(path))


def _expanded(stream: Toml, folder: Path, where: str) -> Toml:
    """Lay a rig's table over the description that it names."""
    own = dict(stream)
    name = own.pop("description", None)
    changes = own.pop("set", {})
    merged: Toml = {}
    if name is not None:
        if not isinstance(name, str):
            raise DescriptionError("must be a name or a path", where=f"{where}: description")
        merged = _base(name, folder, where)
    for key, value in own.items():
        below = merged.get(key)
        if key == "link" and isinstance(below, dict) and isinstance(value, dict):
            same = value.get("type", below.get("type")) == below.get("type")
            merged[key] = {**below, **value} if same else value
        else:
            merged[key] = value
    if not isinstance(changes, dict):
        raise DescriptionError("must be a table of fields", where=f"{where}: set")
    for target, keys in changes.items():
        _change_fields(merged, str(target), keys, f"{where}: set.{target}")
    return merged


def _change_fields(stream: Toml, target: str, keys: object, where: str) -> None:
    """Change keys of the fields of a name; "gyro" and "accel" mean all three axes."""
    if not isinstance(keys, dict):
        raise DescriptionError("must be a table", where=where)
    names = AXES.get(target, (target,))
    changed = False
    for key in ("fields", "records"):
        fields = stream.get(key, [])
        if not isinstance(fields, list):
            continue
        for number, item in enumerate(fields):
            if isinstance(item, dict) and item.get("name") in names:
                fields[number] = {**item, **keys}
                changed = True
    if not changed:
        raise DescriptionError(f"no field {target}", where=where, remedy="name a field of the description")


def _validated(model: type[Model], table: Toml, *, where: str) -> Model:
    try:
        return model.model_validate(table)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"] if part not in LINK_TYPES) or "file"
        remedies = {
            "extra_forbidden": "remove it or correct its spelling",
            "missing": "add it",
        }
        messages = {"extra_forbidden": "unknown key", "missing": "missing key"}
        what = messages.get(first["type"], first["msg"].removeprefix("Value error, "))
        remedy = remedies.get(first["type"], "correct that value")
        raise DescriptionError(what, where=f"{where}: {key}", remedy=remedy) from None

"""A guess as the text of a rig file, with what is still to be said beside the keys that say it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from feltload.acquisition.guessing.guess import GuessedStream
from feltload.acquisition.wire.descriptions.link_config import LinkConfig

__all__ = ["rig_text"]

_LONG = ("fields", "records")


def rig_text(
    sensors: Sequence[tuple[LinkConfig, GuessedStream]],
    remarks: Mapping[int, Sequence[str]],
    *,
    name: str = "rig",
) -> str:
    """Write a rig file.

    Parameters
    ----------
    sensors : sequence of (LinkConfig, GuessedStream)
        The streams, each with the link it was heard on.
    remarks : mapping of int to lines
        What stands as comments above each stream, by its place.
    name : str

    Returns
    -------
    str
        TOML that `load_rig` reads.
    """
    parts = [f"name = {_value(name)}\n"]
    taken: set[str] = set()
    for place, (link, stream) in enumerate(sensors):
        own: str = stream.description.kind
        number = 2
        while own in taken:
            own, number = f"{stream.description.kind}-{number}", number + 1
        taken.add(own)
        lines = [*(f"# {line}" for line in remarks.get(place, ())), "[[streams]]"]
        keys: dict[str, Any] = {"name": own, **stream.keys, "link": _link_keys(link)}
        if "description" in keys:
            keys = {"description": keys["description"], "name": own, "link": keys["link"]}
        lines += [f"{key} = {_value(value)}" for key, value in keys.items() if key not in _LONG]
        for key in _LONG:
            if key in keys:
                lines += [f"{key} = [", *(f"    {_value(item)}," for item in keys[key]), "]"]
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _link_keys(link: LinkConfig) -> dict[str, Any]:
    return {"type": link.type, **link.model_dump(exclude_defaults=True)}


def _value(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            # Basic strings of TOML and strings of JSON have the same escapes.
            return json.dumps(value, ensure_ascii=False)
        case dict():
            return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"
        case list() | tuple():
            return "[" + ", ".join(_value(item) for item in value) + "]"
        case float():
            return repr(value)
        case _:
            return str(value)

"""A machine file with other dimensions: everything else in it, comments included, stays as it was written."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from feltload.calibration.errors import DesignError
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.mechanisms.add_ons import ADD_ONS
from feltload.calibration.machine.parameters import START_ANGLE, Parameter, ParameterKey
from feltload.core import Floats

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

_EVENLY: Final = math.sqrt(3.0)
"""Half of a tolerance over the standard uncertainty of what lies evenly within it (JCGM 100:2008, 4.3.7)."""


def rewrite_dimensions(
    text: str, changed: Sequence[tuple[Parameter, float, float]], *, name: str, comments: Sequence[str] = ()
) -> str:
    """The text of a machine file with some dimensions changed.

    Parameters
    ----------
    text : str
        The machine file.
    changed : sequence of tuple
        Each with its new value and half of its tolerance, SI; the tolerance becomes its standard uncertainty.
    name : str
        The machine's new name.
    comments : sequence of str
        Lines to stand at its head.

    Raises
    ------
    DesignError
        A dimension stands in the file as no value of its own.
    """
    document = _parsed(text)
    document["name"] = name
    for parameter, value, half in changed:
        table = _table_of(document, parameter.key)
        table[parameter.key.dimension] = _written(parameter, value, half)
    return _with_head(document, comments)


def rewrite_cam(text: str, q_rad: Floats, arm_m: Floats, *, name: str, comments: Sequence[str] = ()) -> str:
    """The text of a cable machine's file with another cam in place of its drum or cam."""
    document = _parsed(text)
    document["name"] = name
    section: Any = document["cable"]
    section.pop("drum_radius", None)
    rows = [
        f'["{math.degrees(q):.4g} deg", "{arm * 1e3:.4f}(0.3) mm"]'
        for q, arm in zip(q_rad, arm_m, strict=True)
    ]
    from tomlkit import parse

    cam: Any = parse("cam = [\n    " + ",\n    ".join(rows) + ",\n]\n")
    section["cam"] = cam["cam"]
    return _with_head(document, comments)


def _parsed(text: str) -> TOMLDocument:
    # Slow to import, and only a rewritten file needs it.
    from tomlkit import parse

    return parse(text)


def _with_head(document: TOMLDocument, comments: Sequence[str]) -> str:
    head = "".join(f"# {line}\n" for line in comments)
    return head + document.as_string()


def _table_of(document: TOMLDocument, key: ParameterKey) -> Any:
    if key == START_ANGLE:
        return document
    kind = str(document["mechanism"])
    section: Any = document[kind]
    if not key.part:
        return section
    rows = [
        row
        for owner, tables in ((section, ("mass", "guide")), (document, tuple(ADD_ONS)))
        for table in tables
        for row in _rows(owner, table)
    ]
    for row in rows:
        if isinstance(row, Mapping) and row.get("name") == key.part:
            return row
    raise DesignError(
        f'"{key.dotted}" stands in the machine file as no value of its own',
        where=MECHANISMS[kind].kind,
        remedy="let another dimension move; a cam is moved by --move cam",
    )


def _rows(owner: Any, table: str) -> Sequence[Any]:
    found = owner.get(table, [])
    return found if isinstance(found, list) else []


def _written(parameter: Parameter, value: float, half: float) -> str:
    """``243(0.29) mm``."""
    unit = parameter.per_unit
    number = f"{value / unit:.10g}"
    return f"{number}({half / _EVENLY / unit:.2g}) {parameter.unit}".strip()
